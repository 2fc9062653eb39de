"""The plan of an airframe that no large group stands behind, or that has never been flown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from seed_demo.first_hours import FOLDER
from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import MID, WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

ONE = (Group(WING, 1, 0.04, -0.12),)
TWO = (Group(WING, 2, 0.04, -0.12),)
STALL, LIMITS = "stall_speed_clean_kt = 46.0\n", "never_exceed_kt = 141.0\n"


def store_of(folder: Path, fleet: tuple[Group, ...], limits: str, points: str = "") -> Program:
    """The program on a fleet of one or two airframes."""
    program = Program(begun_at(folder / "store.sqlite3"))
    described = fleet_toml(fleet).replace("scaling_speed_kt", f"{limits}scaling_speed_kt", 1)
    (folder / "fleet.toml").write_text(described, encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    if points:
        add(program, folder, points)
    return program


def add(program: Program, folder: Path, points: str) -> None:
    """Import some points."""
    (folder / "points.csv").write_text(points, encoding="utf-8")
    program.output("points", "import", folder / "points.csv")


@pytest.mark.long
def test_an_airframe_that_nobody_has_flown_gets_a_plan_and_a_card(tmp_path: Path) -> None:
    program = store_of(tmp_path, ONE, STALL + LIMITS)
    plan = program.json("plan", "C-01")
    speeds = [run["ias_kt"] for run in plan["runs"]]
    assert speeds == sorted(speeds, reverse=True)
    assert min(speeds) >= 1.3 * 46.0
    assert max(speeds) <= 0.9 * 141.0
    assert not plan["flown"]
    # of any port 95 in 100 lie within two standard deviations of its level, 8 kt at 100 kt
    assert plan["largest_before_kt"] > 8.0
    assert plan["largest_after_kt"] < 2.0
    printed = program.output("plan", "C-01", "--out", tmp_path / "card.txt")
    assert "before its first flight it is ±" in printed
    assert "approved flight test programme" in printed
    card = (tmp_path / "card.txt").read_text(encoding="utf-8")
    for speed in speeds:
        assert re.search(rf"HOLD {speed:.0f} kt IAS", card)
    assert card.count("________") > 100
    program.output("plan", "C-01", "--out", tmp_path / "card.pdf")
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.long
@pytest.mark.parametrize("fleet", [ONE, TWO], ids=["alone", "one of two"])
def test_flights_of_a_small_group_make_the_plan_s_band_narrower(
    fleet: tuple[Group, ...], tmp_path: Path
) -> None:
    program = store_of(tmp_path, fleet, STALL + LIMITS)
    first = program.json("plan", "C-01")
    add(program, tmp_path, points_csv(fleet))
    second = program.json("plan", "C-01")
    assert second["flown"]
    assert second["largest_before_kt"] < 0.5 * first["largest_before_kt"]
    assert second["largest_after_kt"] < second["largest_before_kt"]


@pytest.mark.long
def test_the_band_known_now_is_the_one_that_the_curve_prints(tmp_path: Path) -> None:
    program = store_of(tmp_path, ONE, STALL + LIMITS, points_csv(ONE))
    curve = program.json("curve", "C-01")
    half = {
        row["ias_kt"]: (row["mean_high_kt"] - row["mean_low_kt"]) / 2.0
        for row in curve["rows"]
        if row["correction_kt"] is not None
    }
    runs = program.json("plan", "C-01", "--points", "6")["runs"]
    held = [run for run in runs if run["ias_kt"] in half]
    assert len(held) > 1
    for run in held:
        assert run["before_kt"] == pytest.approx(half[run["ias_kt"]], rel=0.02)


@pytest.mark.long
def test_without_a_limit_a_plan_stays_near_the_speeds_flown(tmp_path: Path) -> None:
    program = store_of(tmp_path, ONE, STALL, points_csv(ONE, speeds_kt=(65.0, 75.0, 85.0)))
    plan = program.json("plan", "C-01")
    assert 85.0 <= plan["fastest_kt"] <= 100.0
    assert any("approved flight test programme" in note for note in plan["notes"])
    assert any("end them with --fastest-kt" in note for note in plan["notes"])
    ended = program.json("plan", "C-01", "--fastest-kt", "80")
    assert ended["fastest_kt"] == 80.0
    assert not any("--fastest-kt" in note for note in ended["notes"])


def test_what_a_first_plan_lacks_is_named_with_the_command(tmp_path: Path) -> None:
    program = store_of(tmp_path, ONE, "")
    without_stall = program.run("plan", "C-01")
    assert_explained(without_stall, 3, "no stall speed of the Corrie 2")
    assert "fleetcal fleet airframe TAG --stall-kt" in without_stall.stderr
    program.output("fleet", "airframe", "C-01", "--stall-kt", "46")
    without_limit = program.run("plan", "C-01")
    assert_explained(without_limit, 3, "no never-exceed speed of the Corrie 2")
    assert "--fastest-kt" in without_limit.stderr
    plan = program.json("plan", "C-01", "--fastest-kt", "110")
    assert max(run["ias_kt"] for run in plan["runs"]) <= 110.0


def test_a_question_about_a_group_needs_one(tmp_path: Path) -> None:
    program = store_of(tmp_path, TWO, STALL + LIMITS, points_csv(TWO))
    assert_explained(program.run("plan", "C-01", "--question", "standing"), 5, "3 airframes")


def test_an_undescribed_airframe_is_planned_by_its_static_source_alone(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    program.output("fleet", "airframe", "C-01", "--static-source", MID, "--stall-kt", "46")
    plan = program.json("plan", "C-01", "--fastest-kt", "110")
    assert plan["group"] == MID


@pytest.mark.long
def test_a_plan_leaves_no_more_than_equally_spaced_speeds_would(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "mine.store"))
    for number in (1, 2, 3):
        log = FOLDER / f"flight-{number}.csv"
        program.output("reduce", log, "--airframe", "F-01", "--new-airframe")
    program.output("fleet", "airframe", "F-01", "--stall-kt", "44")
    found = program.json("plan", "F-01", "--fastest-kt", "120")
    assert found["largest_after_kt"] <= 1.0001 * found["largest_equal_kt"]
