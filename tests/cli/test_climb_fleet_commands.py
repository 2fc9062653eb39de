"""Standing, change and contrast of climbs and glides, against what was planted."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import WING, Group, fleet_toml
from tests.cli.invented_glides import GLIDE, log_text, rate_mps
from tests.store_places import begun_at, copy_store

FTMIN = 0.00508
FIXED = "75 kW four / two-blade fixed"
THREE = "75 kW four / three-blade constant-speed"
IDLE = ("--quantity", "glide", "--power-state", "idle")
KIND = ("--quantity", "glide")
SPEEDS = (52.0, 62.0, 74.0, 88.0, 100.0)


def planted(more: float, cas_kt: float) -> float:
    """What more of the path coefficient is in ft/min at about 4,000 ft."""
    tas = cas_kt * 1.0605 * 1852 / 3600
    return float(rate_mps((more, 0.0, 0.0), cas_kt, tas, 600.0)) / FTMIN


def two_propellers(airframes: int, changed: int) -> str:
    """Describe a fleet of one propeller; the last ones are given another on 2024-06-01."""
    head, *planes = fleet_toml((Group(WING, airframes, 0.0, 0.0),)).split("[[airframe]]")
    head += '[[propeller]]\nname = "three-blade constant-speed"\n'
    second = (
        f'[[airframe.fit]]\nfrom = 2024-06-01\nstatic_source = "{WING}"\n'
        'engine = "75 kW four"\npropeller = "three-blade constant-speed"\n'
    )
    told = [p + (second if i >= airframes - changed else "") for i, p in enumerate(planes)]
    return "[[airframe]]".join([head, *told])


def fly(program: Program, folder: Path, tag: str, day: str, more: float, seed: int) -> None:
    log = folder / f"{tag}-{day}.csv"
    text = log_text(GLIDE, speeds_kt=SPEEDS, more=more, seed=seed)
    log.write_text(text.replace("2024-05-02", day), encoding="utf-8")
    program.output("reduce", log, "--airframe", tag, *IDLE, "--weight-kg", "600")


@pytest.fixture(scope="module")
def changed_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Eight airframes; the last four get another propeller that costs them path."""
    folder = tmp_path_factory.mktemp("changed")
    (folder / "fleet.toml").write_text(two_propellers(8, 4), encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    rng = np.random.default_rng(11)
    for number in range(1, 9):
        own = float(rng.normal(0.0, 0.0004))
        tag, seed = f"C-{number:02d}", 10 * number
        fly(program, folder, tag, "2024-05-02", own, seed)
        fly(program, folder, tag, "2024-05-09", own, seed + 1)
        if number > 4:
            fly(program, folder, tag, "2024-06-12", own - 0.004, seed + 2)
            fly(program, folder, tag, "2024-06-19", own - 0.004, seed + 3)
    return program.store


@pytest.fixture
def changed(changed_file: str, folder: Path) -> Program:
    return Program(copy_store(changed_file, folder / "store.sqlite3"))


@pytest.mark.long
@pytest.mark.parametrize("words", [("C-06",), ("C-05", "C-06", "C-07", "C-08"), ()])
def test_a_change_of_propeller_shows_as_large_as_it_was_planted(
    changed: Program, words: tuple[str, ...]
) -> None:
    by_pairing = () if words else ("--from", FIXED, "--to", THREE)
    found = changed.json("change", *words, *KIND, *by_pairing)
    assert found["differ"]
    assert found["rows"]
    for row in found["rows"]:
        assert row["low_ftmin"] < planted(-0.004, row["cas_kt"]) < row["high_ftmin"]
        if len(words) != 1:  # two sorties a side leave one airframe's ends open
            assert row["high_ftmin"] < 0.0
    said = changed.output("change", *words, *KIND, *by_pairing, "--details")
    assert "the change shows in the glide" in said.lower()
    assert "ft/min at" in said
    assert re.search(r"[+-]\d+(\.\d)? kt", said) is None  # no rate is told in knots


@pytest.mark.long
def test_two_days_of_one_fit_show_no_change(changed: Program) -> None:
    sides = ("--before", "..2024-05-05", "--after", "2024-05-06..2024-05-30")
    found = changed.json("change", "C-02", *KIND, *sides)
    assert not found["differ"]
    assert "does not show in the glide" in found["verdict"]
    for row in found["rows"]:
        assert row["low_ftmin"] < 0.0 < row["high_ftmin"]


def test_pairings_that_differ_are_told_apart_and_by_how_much(changed: Program) -> None:
    found = changed.json("contrast", FIXED, THREE, *KIND)
    assert found["differ"]
    for row in found["rows"]:
        assert row["low_ftmin"] < planted(-0.004, row["cas_kt"]) < row["high_ftmin"]
    assert (found["first"]["airframes"], found["second"]["airframes"]) == (8, 4)


@pytest.mark.long
def test_an_airframe_is_shown_in_each_pairing_that_it_flew(changed: Program, folder: Path) -> None:
    figure = folder / "standing.svg"
    words = ("standing", "C-06", *KIND)
    found = changed.json(*words, "--out", figure)
    assert [a["pairing"] for a in found["airframes"]] == [THREE, FIXED]
    assert not any(a["outside"] for a in found["airframes"])
    drawn = figure.read_text(encoding="utf-8")
    assert "calibrated airspeed, kt" in drawn
    assert "correction to add" not in drawn


def test_what_cannot_be_compared_is_explained(changed: Program) -> None:
    same = changed.run("contrast", FIXED, FIXED, *KIND)
    assert_explained(same, 3, "cannot be compared with itself")
    strange = changed.run("contrast", FIXED, "no such pairing", *KIND)
    assert_explained(strange, 35, "no such pairing")
    once = changed.run("change", "C-02", *KIND)
    assert_explained(once, 5, "C-02: its accepted points were all flown in one fit")
    nobody = changed.run("standing", "C-99", *KIND)
    assert_explained(nobody, 35, "C-99")
    assert changed.run("change", "C-02", *KIND, "--before", "..2024-05-05").exit_code == 2
