"""Airframes that were kept by a name alone travel, and whoever described them is believed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.hand_legs import legs_of_day
from tests.store_places import store_at

pytestmark = pytest.mark.long

EVERYTHING = (
    *("--type", "Corrie 2", "--static-source", "wing boom", "--engine", "75 kW four"),
    *("--propeller", "two-blade fixed"),
)
Make = Callable[[str], Program]


@pytest.fixture
def make(tmp_path: Path) -> Make:
    return lambda name: Program(store_at(tmp_path / f"{name}.sqlite3"))


def keep(program: Program, folder: Path, tag: str, day: str = "2026-05-02", runs: int = 2) -> None:
    path = folder / f"{tag}-{day}.csv"
    path.write_text(legs_of_day(day, *range(1, runs + 1)), encoding="utf-8")
    program.output("reduce", path, "--airframe", tag, "--new-airframe", "--date", day)


def send(giver: Program, taker: Program, folder: Path) -> dict[str, object]:
    """Merge all that one store has into another, and return what came of it."""
    path = folder / f"share-{len(list(folder.iterdir()))}.json"
    giver.output("share", "--out", path)
    return taker.json("merge", path)


def equipment(program: Program) -> set[tuple[str, ...]]:
    names = ("airframe", "type", "static_source", "engine", "propeller")
    points = program.json("points", "list")["points"]
    return {tuple(point[name] for name in names) for point in points}


DESCRIBED = {("C-07", "Corrie 2", "wing boom", "75 kW four", "two-blade fixed")}


def test_an_undescribed_airframe_reaches_an_empty_store(make: Make, tmp_path: Path) -> None:
    mine, theirs = make("mine"), make("theirs")
    keep(mine, tmp_path, "C-07")
    keep(theirs, tmp_path, "D-11", runs=3)
    assert send(mine, theirs, tmp_path)["conflicts"] == []
    assert {line[0] for line in equipment(theirs)} == {"C-07", "D-11"}
    assert equipment(mine) <= equipment(theirs)


def test_a_description_made_later_reaches_a_store_that_had_none(make: Make, tmp_path: Path) -> None:
    mine, theirs = make("mine"), make("theirs")
    keep(mine, tmp_path, "C-07")
    keep(theirs, tmp_path, "D-11", runs=3)
    send(mine, theirs, tmp_path)
    keep(theirs, tmp_path, "C-07", "2026-05-09", runs=4)
    mine.output("fleet", "airframe", "C-07", *EVERYTHING, "--weight-kg", "630")
    assert send(mine, theirs, tmp_path)["conflicts"] == []
    own = {line for line in equipment(theirs) if line[0] == "C-07"}
    assert own == DESCRIBED
    assert send(theirs, mine, tmp_path)["conflicts"] == []
    assert {line for line in equipment(mine) if line[0] == "C-07"} == DESCRIBED
    for program in (mine, theirs):
        assert "type not described yet (C-07)" not in program.json("show", "fleet")["types"]
        program.output("store", "check")


@pytest.mark.parametrize("described_first", [True, False])
def test_stores_that_never_met_agree_on_the_one_that_describes(
    make: Make, tmp_path: Path, described_first: bool
) -> None:
    knowing, simple = make("knowing"), make("simple")
    knowing.output("fleet", "airframe", "C-07", *EVERYTHING)
    keep(knowing, tmp_path, "C-07")
    keep(simple, tmp_path, "C-07", "2026-05-09", runs=3)
    giver, taker = (knowing, simple) if described_first else (simple, knowing)
    assert send(giver, taker, tmp_path)["conflicts"] == []
    assert equipment(taker) == DESCRIBED
    taker.output("store", "check")


def test_a_fit_from_a_day_on_fills_in_where_nothing_was_described(
    make: Make, tmp_path: Path
) -> None:
    knowing, simple = make("knowing"), make("simple")
    knowing.output("fleet", "airframe", "C-07", *EVERYTHING, "--since", "2026-05-05")
    keep(simple, tmp_path, "C-07")
    keep(simple, tmp_path, "C-07", "2026-05-09", runs=3)
    assert send(knowing, simple, tmp_path)["conflicts"] == []
    assert {line[1:3] for line in equipment(simple)} == {
        ("Corrie 2", "static source not described yet (C-07)"),
        ("Corrie 2", "wing boom"),
    }


def test_two_descriptions_that_differ_are_a_conflict(make: Make, tmp_path: Path) -> None:
    mine, theirs = make("mine"), make("theirs")
    for program, engine in ((mine, "75 kW four"), (theirs, "100 kW turbo four")):
        keep(program, tmp_path, "C-07")
        program.output("fleet", "airframe", "C-07", "--type", "Corrie 2", "--engine", engine)
    path = tmp_path / "share.json"
    mine.output("share", "--out", path)
    result = theirs.run("merge", path)
    assert result.exit_code == 39
    assert "75 kW four" in result.stdout + result.stderr
