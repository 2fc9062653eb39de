"""Store, format, details and unit of speed are taken on either side of the command."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from fleetcal.cli import main
from fleetcal.cli.verbs import Verb, VerbGroup
from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL, fleet_toml, points_csv
from tests.cli.test_help import EVERY
from tests.store_places import begun_at


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store with an invented fleet and its points."""
    folder = tmp_path_factory.mktemp("shared")
    (folder / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(), encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program.store


def run(*words: str, **environment: str) -> Result:
    return CliRunner().invoke(main, words, prog_name="fleetcal", env=environment)


def test_store_and_format_stand_before_the_command_inside_it_or_after_it(store: str) -> None:
    given = ["--store", store, "--format", "json"]
    told = [
        run(*given, "points", "list"),
        run("points", *given, "list"),
        run("points", "list", *given),
        run("points", "--format", "json", "list", "--store", store),
        run("points", "list", "--format", "json", FLEETCAL_STORE=store),
    ]
    assert [result.exit_code for result in told] == [0] * 5
    assert len({result.stdout for result in told}) == 1
    assert json.loads(told[0].stdout)["kind"] == "points"


@pytest.mark.long
def test_the_last_one_given_holds_and_goes_before_the_environment(store: str) -> None:
    result = run("--format", "csv", "curve", TAIL, "--format", "json", "--store", store)
    assert json.loads(result.stdout)["kind"] == "curve"
    assert run("curve", TAIL, "--store", store, FLEETCAL_STORE="/nowhere/x").exit_code == 0
    assert run("curve", TAIL, FLEETCAL_STORE="/nowhere/x").exit_code == 4


@pytest.mark.long
def test_the_unit_of_speed_may_stand_before_the_command(store: str, tmp_path: Path) -> None:
    told = []
    for place, words in enumerate((("--speed-unit", "mph", "publish"), ("publish",))):
        after = () if place == 0 else ("--speed-unit", "mph")
        wanted = ("--out", str(tmp_path / str(place)), "--formats", "csv", "--store", store)
        assert run(*words, TAIL, *wanted, "--date", "2024-05-01", *after).exit_code == 0
        (file,) = (tmp_path / str(place)).iterdir()
        told.append(file.read_text(encoding="utf-8"))
    assert told[0] == told[1]
    assert "mph" in told[0]


@pytest.mark.parametrize(
    "words",
    [
        ("--format", "json", "settings"),
        ("settings", "--format", "json"),
        ("--speed-unit", "mph", "settings"),
        ("publish", "--site", "--out", "x", "--speed-unit", "mph"),
    ],
    ids=" ".join,
)
def test_where_it_would_be_without_effect_it_is_refused(store: str, words: tuple[str, ...]) -> None:
    result = run(*words, FLEETCAL_STORE=store)
    assert result.exit_code == 2
    assert "--format" in result.stderr or "--speed-unit" in result.stderr


@pytest.mark.parametrize(
    ("path", "command"), EVERY, ids=[" ".join(path) or "fleetcal" for path, _ in EVERY]
)
def test_every_command_takes_the_store(path: tuple[str, ...], command: click.Command) -> None:
    assert isinstance(command, Verb | VerbGroup), path
    context = click.Context(command)
    names = [word for option in command.get_params(context) for word in option.opts]
    assert "--store" in names
    assert len(names) == len(set(names))


def test_the_help_lists_every_command_under_one_task_and_cuts_no_line() -> None:
    listed = [name for names in main.tasks.values() for name in names]
    assert sorted(listed) == sorted(main.commands)
    told = run("--help").stdout
    assert "..." not in told.split("Fly and reduce:")[1]
    assert max(len(line) for line in told.splitlines()) <= 80
