"""A campaign of test flights for one airframe: what is left to fly, and what the last one did."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import WING, Group, points_csv
from tests.cli.test_plan_of_one_airframe import LIMITS, ONE, STALL, add, store_of

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

WORDS = ("plan", "C-01", "--campaign")


def fly(program: Program, folder: Path, speeds: list[float], sortie: str, day: str) -> None:
    """Keep the points of one flight at some speeds."""
    head, *lines = points_csv(ONE, speeds_kt=tuple(speeds)).splitlines()
    mine = [x.replace("2024-03-05", day) for x in lines if x.split(",")[2] == sortie]
    add(program, folder, "\n".join([head, *mine]) + "\n")


@pytest.fixture
def unflown(tmp_path: Path) -> Program:
    return store_of(tmp_path, ONE, STALL + LIMITS)


@pytest.mark.long
def test_a_campaign_begins_before_the_first_flight(unflown: Program, tmp_path: Path) -> None:
    campaign = unflown.json(*WORDS, "--within-kt", "0.8", "--out", tmp_path / "card.txt")
    largest = [flight["largest_after_kt"] for flight in campaign["flights"]]
    assert campaign["reached"]
    assert campaign["last"] is None
    assert len(largest) > 1
    assert largest == sorted(largest, reverse=True)
    assert largest[-1] <= 0.8 < largest[-2]
    assert largest[0] < campaign["largest_now_kt"]
    first = unflown.json("plan", "C-01")
    assert largest[0] == pytest.approx(first["largest_after_kt"], rel=1e-6)
    speeds = [run["ias_kt"] for run in first["runs"] for _ in range(run["repeats"])]
    assert campaign["flights"][0]["speeds_kt"] == speeds
    card = (tmp_path / "card.txt").read_text(encoding="utf-8")
    assert all(f"HOLD {speed:.0f} kt IAS" in card for speed in speeds)
    printed = unflown.output(*WORDS, "--within-kt", "0.8")
    assert f"Fly {len(largest)} flights: " in printed
    assert (
        "Stop when this plan says ±0.8 kt or better at all speeds; foreseen after flight" in printed
    )


@pytest.mark.long
def test_after_a_flight_it_says_what_that_changed(unflown: Program, tmp_path: Path) -> None:
    before = unflown.json(*WORDS, "--within-kt", "0.8")
    fly(unflown, tmp_path, before["flights"][0]["speeds_kt"], "a", "2024-03-05")
    after = unflown.json(*WORDS, "--within-kt", "0.8")
    last = after["last"]
    assert (last["flown_on"], last["runs"]) == ("2024-03-05", 4)
    assert last["after_kt"] == after["largest_now_kt"] < 0.5 * last["before_kt"]
    # flown as planned, though at a weight of the day that makes other lift coefficients of it
    assert last["flown_foreseen_kt"] == pytest.approx(last["foreseen_kt"], rel=0.25)
    printed = unflown.output(*WORDS, "--within-kt", "0.8")
    assert printed.startswith("The flight of 2024-03-05 brought the largest band from ±")
    fly(unflown, tmp_path, [66.0, 90.0, 120.0], "b", "2024-05-01")
    second = unflown.json(*WORDS, "--within-kt", "0.8")["last"]
    assert second["flown_on"] == "2024-05-01"
    assert second["before_kt"] == pytest.approx(last["after_kt"], rel=0.1)


@pytest.mark.long
def test_a_flight_at_one_speed_only_is_held_against_what_the_plan_would_have_given(
    unflown: Program, tmp_path: Path
) -> None:
    fly(unflown, tmp_path, [80.0, 82.0, 84.0], "a", "2024-03-05")
    last = unflown.json(*WORDS)["last"]
    assert last["flown_foreseen_kt"] > 1.5 * last["foreseen_kt"]
    assert "at those flown" in unflown.output(*WORDS)


def test_at_the_aim_it_says_stop_and_writes_no_card(unflown: Program, tmp_path: Path) -> None:
    fly(unflown, tmp_path, [62.0, 75.0, 90.0, 110.0, 125.0], "a", "2024-03-05")
    result = unflown.run(*WORDS, "--within-kt", "5", "--out", tmp_path / "card.txt")
    assert result.exit_code == 0
    assert "Stop: C-01's own correction is known to ±" in result.stdout
    assert "No flight is left" in result.stderr
    assert not (tmp_path / "card.txt").exists()


def test_the_largest_band_of_a_campaign_is_that_of_the_curve(
    unflown: Program, tmp_path: Path
) -> None:
    fly(unflown, tmp_path, [62.0, 75.0, 90.0, 110.0, 128.0], "a", "2024-03-05")
    campaign = unflown.json(*WORDS)
    rows = unflown.json("curve", "C-01")["rows"]
    low, high = campaign["slowest_kt"], campaign["fastest_kt"]
    half = [
        (row["mean_high_kt"] - row["mean_low_kt"]) / 2.0
        for row in rows
        if low <= row["ias_kt"] <= high and row["correction_kt"] is not None
    ]
    assert campaign["largest_now_kt"] == pytest.approx(float(np.max(half)), rel=0.02)


@pytest.mark.long
def test_an_aim_out_of_reach_is_called_so(unflown: Program) -> None:
    campaign = unflown.json(*WORDS, "--within-kt", "0.1")
    assert not campaign["reached"]
    assert len(campaign["flights"]) == 6
    assert "and not to ±0.1 kt" in unflown.output(*WORDS, "--within-kt", "0.1")


@pytest.mark.long
def test_a_campaign_in_a_large_group_leans_on_it(tmp_path: Path) -> None:
    fleet = (Group(WING, 6, 0.04, -0.12),)
    program = store_of(tmp_path, fleet, STALL + LIMITS)
    head, *lines = points_csv(fleet).splitlines()
    others = [line for line in lines if not line.startswith("C-01")]
    alone = program.json(*WORDS)["largest_now_kt"]
    add(program, tmp_path, "\n".join([head, *others]) + "\n")
    campaign = program.json(*WORDS)
    assert campaign["largest_now_kt"] < 0.7 * alone
    assert campaign["last"] is None


def test_a_campaign_counts_its_flights_by_itself(unflown: Program) -> None:
    assert_explained(unflown.run(*WORDS, "--sorties", "2"), 36, "--campaign")
    assert_explained(unflown.run(*WORDS, "--question", "change"), 36, "--campaign")


@pytest.mark.long
def test_every_speed_of_a_flight_is_in_the_unit_that_people_choose(unflown: Program) -> None:
    campaign = unflown.json(*WORDS)
    speeds = [speed * 1.150779 for speed in campaign["flights"][0]["speeds_kt"]]
    for words in (WORDS, WORDS[:2]):
        printed = unflown.output(*words, "--speed-unit", "mph")
        (line,) = [x for x in printed.splitlines() if x.startswith(("Flight 1:", "In this order:"))]
        assert all(f"{speed:.0f} mph" in line for speed in speeds)
        assert " kt" not in line
