"""A verb takes what the command takes, under the same names and within the same limits."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import click
import pytest

import fleetcal
from fleetcal.cli import main
from fleetcal.cli.shared_options import OPTIONS
from fleetcal.errors import DataError, FleetcalError
from tests.cli.command_line import Program

COMMANDS: Final = {"read": "columns", "reduce_folder": "reduce"}
#: What each verb needs in any case; nothing of it is there.
NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "read": ("no.csv",),
    "reduce": ("no.csv",),
    "reduce_folder": ("no",),
    "curve": ("C-01",),
    "standing": ("C-01",),
    "change": ("C-01",),
    "plan": ("C-01",),
    "publish": ("C-01", "pages"),
    "groups": (),
}
#: What only a program can give.
BESIDE: Final = {"reduce_folder": {"folder", "executor"}}
#: Options that only print, only draw, or belong to what a verb does not do.
LEFT_OUT: Final = {
    "read": {"out"},
    "reduce": {
        *("quantity", "preview", "out", "open", "rows", "again", "sortie", "replace", "flights"),
        *(
            "processes",
            "workers_at",
            "power_state",
            "thrust_kw",
            "power_held",
            "between_s",
            "between_ft",
        ),
        "allow_gradient_kt_per_1000ft",
    },
    "curve": {"quantity", "power_state", "second_opinion", "out", "airframe", "power_pct"},
    "standing": {"fail_if_outside", "out"},
    "plan": {"out", "paper"},
    "publish": {"issue", "reason", "site", "with_days", "with_registrations"},
}


def verb(name: str) -> Callable[..., Any]:
    found: Callable[..., Any] = getattr(fleetcal, name)
    return found


def options(name: str) -> dict[str, click.Option]:
    """The options of the command by the names that Python would give them."""
    command = main.commands[COMMANDS.get(name, name)]
    return {
        word.lstrip("-").replace("-", "_"): option
        for option in command.params
        if isinstance(option, click.Option)
        for word in option.opts
    }


def keywords(name: str) -> set[str]:
    return set(inspect.signature(verb(name)).parameters)


@pytest.mark.parametrize("name", NEEDED)
def test_every_keyword_is_an_option_of_the_command(name: str) -> None:
    command = main.commands[COMMANDS.get(name, name)]
    arguments = {p.name for p in command.params if isinstance(p, click.Argument)}
    given = {word.rstrip("_") for word in keywords(name)} - BESIDE.get(name, set())
    unknown = given - options(name).keys() - arguments
    assert unknown - OPTIONS.keys() == set()  # those that are taken anywhere on the line


@pytest.mark.parametrize("name", NEEDED)
def test_an_option_that_is_left_out_is_one_that_the_command_has(name: str) -> None:
    assert LEFT_OUT.get(name, set()) - options(name).keys() == set()
    assert LEFT_OUT.get(name, set()) & keywords(name) == set()


def ranged() -> Iterator[tuple[str, str, float]]:
    """Every number that an option refuses: below its limits and above them."""
    for name in NEEDED:
        for word, option in options(name).items():
            kind = option.type
            if word in keywords(name) and isinstance(kind, click.FloatRange | click.IntRange):
                for end, step in ((kind.min, -1), (kind.max, 1)):
                    if end is not None and not option.multiple:
                        yield name, word, type(end)(end + step)


def choices() -> Iterator[tuple[str, str]]:
    for name in NEEDED:
        for word, option in options(name).items():
            if word in keywords(name) and isinstance(option.type, click.Choice):
                yield name, word


def refused(name: str, **given: Any) -> FleetcalError:
    with pytest.raises(FleetcalError) as caught:
        verb(name)(*NEEDED[name], **given)
    assert caught.value.hint
    return caught.value


@pytest.mark.parametrize(("name", "word", "value"), [*ranged()])
def test_a_number_that_the_option_refuses_is_refused(name: str, word: str, value: float) -> None:
    error = refused(name, **{word: value})
    assert isinstance(error, DataError)
    assert error.message.startswith(f"{word}={value!r} is not ")


@pytest.mark.parametrize(("name", "word"), [*choices()])
def test_a_word_that_the_option_refuses_is_refused(name: str, word: str) -> None:
    error = refused(name, **{word: "purple"})
    assert isinstance(error, DataError)
    assert "purple" in error.message


def test_the_limits_of_many_options_were_tried() -> None:
    assert len([*ranged()]) > 30
    assert len([*choices()]) >= 9


@pytest.mark.parametrize(
    ("name", "given", "named"),
    [
        ("reduce", {"weight_kg": 580, "takeoff_weight_kg": 600}, "takeoff_weight_kg"),
        ("reduce", {"fuel_used_kg_per_h": 12}, "fuel_used_kg_per_h"),
        ("reduce", {"humidity_pct": 40, "dew_point_degc": 3}, "dew_point_degc"),
        ("reduce", {"temperature_shows": "ambient", "recovery_factor": 0.8}, "recovery_factor"),
        ("reduce", {"altimeter_setting": 500}, "altimeter_setting"),
        ("reduce", {"oat_degc": 70}, "oat_degc"),
        ("reduce", {"legs": "legs.csv", "keep": [1]}, "keep"),
        ("reduce", {"solve_by": "flight", "drop": [(1, 1)]}, "drop"),
        ("reduce", {"date": "31.12.2024"}, "date"),
        ("reduce", {"weight_kg": float("nan")}, "weight_kg"),
        ("reduce", {"weight_kg": "580"}, "weight_kg"),
        ("reduce", {"new_airframe": True}, "new_airframe"),
        ("reduce_folder", {}, "who flew"),
        ("reduce_folder", {"airframe": "C-01", "solve_by": "no"}, "solve_by"),
        ("curve", {"without": "C-03"}, "without"),
        ("curve", {"order": 1.5}, "order"),
        ("change", {"before": "..2024-01-01"}, "before"),
        ("change", {"before": "2024", "after": "2025.."}, "before"),
        ("change", {"from_": "wing boom"}, "from_"),
        (
            "change",
            {"from_": "a", "to": "b", "before": "..2024-01-01", "after": "2024-01-02.."},
            "before",
        ),
        ("standing", {"power_state": "idle"}, "power_state"),
        ("standing", {"quantity": "climb", "usual_spread_kt": 1.0}, "usual_spread_kt"),
        ("publish", {"formats": "pdf"}, "formats"),
        ("publish", {"formats": ["pdf", "doc"]}, "formats"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_name(
    name: str, given: dict[str, Any], named: str
) -> None:
    assert named in refused(name, **given).message


def test_a_folder_is_refused_with_the_command_that_takes_it(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="is a folder") as caught:
        fleetcal.reduce(tmp_path)
    assert "reduce" in caught.value.hint


def test_an_error_is_the_one_that_the_command_prints(few: Program) -> None:
    with pytest.raises(FleetcalError) as caught:
        fleetcal.curve("C-99", store=few.store)
    printed = few.run("curve", "C-99").stderr.splitlines()
    assert printed == [f"Error: {caught.value.message}", f"Hint: {caught.value.hint}"]
