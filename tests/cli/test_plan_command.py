"""The plan of the next flight, on an invented fleet."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Program, assert_explained
from invented_fleet import WING, Group, fleet_toml, points_csv
from store_places import store_at

FLEET = (Group(WING, 6, 0.04, -0.12),)
LIMITS = "stall_speed_clean_kt = 46.0\nmanoeuvring_speed_kt = 95.0\nnever_exceed_kt = 141.0\n"


@pytest.fixture(scope="module")
def slow_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Six airframes over all speeds; of C-01 only the slow points are left."""
    folder = tmp_path_factory.mktemp("planned")
    described = fleet_toml(FLEET).replace("scaling_speed_kt", f"{LIMITS}scaling_speed_kt", 1)
    (folder / "fleet.toml").write_text(described, encoding="utf-8")
    head, *lines = points_csv(FLEET).splitlines()
    lines = [x for x in lines if not x.startswith("C-01") or float(x.split(",")[4]) < 85.0]
    (folder / "points.csv").write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    program = Program(store_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program.store


@pytest.fixture
def slow(slow_file: str) -> Program:
    return Program(slow_file)


def test_an_airframe_that_flew_slow_is_sent_to_fly_fast(slow: Program) -> None:
    plan = slow.json("plan", "C-01")
    assert plan["runs"][0]["ias_kt"] >= 110.0
    assert sum(run["repeats"] for run in plan["runs"]) == 4
    after, equal = plan["largest_after_kt"], plan["largest_equal_kt"]
    assert after <= equal < plan["largest_before_kt"]
    assert all(run["after_kt"] < run["before_kt"] for run in plan["runs"])


def test_no_speed_is_proposed_near_the_stall_or_beyond_what_was_flown(slow: Program) -> None:
    for tag in ("C-01", "C-04"):
        plan = slow.json("plan", tag, "--points", "12")
        speeds = [run["ias_kt"] for run in plan["runs"]]
        assert min(speeds) >= 1.3 * 46.0
        assert max(speeds) <= 0.9 * 141.0
        assert all(run["smooth_air_only"] == (run["ias_kt"] > 95.0) for run in plan["runs"])


def test_more_runs_promise_narrower_bands(slow: Program) -> None:
    widths = [slow.json("plan", "C-01", "--points", n)["largest_after_kt"] for n in (1, 2, 4, 8)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.8 * widths[0]


def test_the_card_can_be_read_and_carries_the_caution(slow: Program) -> None:
    said = slow.output("plan", "C-01", "--wind-from-deg", "240")
    assert "Tracks of each run, in degrees: 240, 330, 060, 150, 240" in said
    assert "above the manoeuvring speed: in smooth air only" in said
    assert "Advisory only" in said
    assert "Stop for weather" in said


def test_an_airframe_without_points_is_planned_from_its_group(
    slow_file: str, tmp_path: Path
) -> None:
    program = Program(store_at(tmp_path / "store.sqlite3"))
    more = (Group(WING, 7, 0.04, -0.12),)
    (tmp_path / "fleet.toml").write_text(fleet_toml(more), encoding="utf-8")
    points = [x for x in points_csv(more).splitlines() if not x.startswith("C-07")]
    (tmp_path / "points.csv").write_text("\n".join(points) + "\n", encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    plan = program.json("plan", "C-07", "--points", "2")
    assert "C-07 has no accepted point" in plan["notes"][0]
    flown = program.json("plan", "C-02", "--points", "2")
    assert plan["largest_before_kt"] > 1.5 * flown["largest_before_kt"]


def test_what_cannot_be_planned_is_explained(slow: Program, program: Program) -> None:
    assert_explained(slow.run("plan", "C-99"), 35, "C-99")
    assert_explained(program.run("plan", "C-03"), 5, "3 airframes")
