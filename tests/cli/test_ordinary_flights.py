"""Ordinary flights, in which nobody flew legs, from the log to the points of the store."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.store.history_guard import KEPT
from fleetcal.store.models import Base
from tests.airdata.simulations.ordinary import ORDINARY_DAY, each_ordinary_airframe
from tests.airdata.simulations.season import log_text
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_sortie import Card, fly
from tests.cli.invented_sortie import log_text as sortie_text
from tests.store_places import opened

WHO = ("--airframe", "C-01", "--weight-kg", "580")
ENTIRE = ("--solve-by", "flight")
#: No other number of the logs begins so.
LATITUDE = 51.4371


@pytest.fixture(scope="module")
def logs() -> list[str]:
    """Two simulated flights of one owner, with a column that tells where they were."""
    (airframe,) = each_ordinary_airframe(ORDINARY_DAY, range(1), 2, seed=7)
    found = []
    for number, flight in enumerate(airframe.flights):
        text = log_text(flight.log, datetime(2025, 4, 1, 9, tzinfo=UTC) + timedelta(days=number))
        heading, *rows = text.splitlines()
        rows = [f"{row},{LATITUDE},8.5000" for row in rows]
        heading = f"{heading},latitude (deg),longitude (deg)"
        found.append("\n".join([heading, *rows]) + "\n")
    return found


@pytest.fixture
def log(folder: Path, logs: list[str]) -> Path:
    path = folder / "tour.csv"
    path.write_text(logs[0], encoding="utf-8")
    return path


def stored(program: Program) -> dict[str, list[dict[str, Any]]]:
    """Every row of the store but for the history, by table."""
    found = {}
    with opened(program.store) as connection:
        for table in {t.name for t in Base.metadata.sorted_tables} - set(KEPT):
            rows = connection.execute(f"SELECT * FROM {table} ORDER BY 1")
            names = [column[0] for column in rows.description]
            found[table] = [dict(zip(names, row, strict=True)) for row in rows.fetchall()]
    return found


@pytest.mark.long
def test_a_preview_shows_the_airspeeds_flown_and_what_is_supposed(
    program: Program, log: Path, folder: Path
) -> None:
    before = folder_content(folder)
    text = program.output("reduce", log, "--preview", *ENTIRE)
    found = program.json("reduce", log, "--preview", *ENTIRE)
    assert "an ordinary flight, solved without legs at " in text
    assert "Flaps are taken as up all flight" in " ".join(text.split())
    assert found["technique"] == ORDINARY_FLIGHT
    assert found["legs"] == []
    speeds = [run["vic_kt"] for run in found["runs"]]
    assert len(speeds) >= 4
    assert speeds == sorted(speeds)
    for speed in speeds:
        assert f"{speed:.0f}" in text
    assert folder_content(folder) == before


@pytest.mark.long
def test_its_points_are_of_an_ordinary_flight_and_share_what_the_wind_does(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO, *ENTIRE)
    points = program.json("points", "list")["points"]
    assert len(points) >= 4
    assert {point["technique"] for point in points} == {ORDINARY_FLIGHT}
    assert all(point["accepted"] for point in points)
    rows = stored(program)
    shared = [t for t in rows["uncertainty_term"] if t["name"].startswith("moving wind ")]
    assert {term["owner"] for term in shared} == {"sortie"}
    assert len({term["calibration_point_id"] for term in shared}) == len(points)
    # it has no legs to keep, and so the store is found whole without them
    assert rows["leg"] == []
    assert program.run("store", "check").exit_code == 0


@pytest.mark.long
def test_nothing_stored_tells_where_the_flight_was(program: Program, log: Path) -> None:
    assert str(LATITUDE) in log.read_text(encoding="utf-8")
    program.output("reduce", log, *WHO, *ENTIRE)
    rows = stored(program)
    assert rows["calibration_point"]
    assert str(LATITUDE) not in repr(rows)


def test_asked_by_legs_a_flight_without_legs_is_refused(program: Program, log: Path) -> None:
    done = program.run("reduce", log, *WHO)
    assert done.exit_code != 0
    assert "Error: tour.csv: " in done.stderr
    assert stored(program)["sortie"] == []


@pytest.mark.long
def test_reduced_again_it_is_again_solved_entire(program: Program, log: Path, folder: Path) -> None:
    program.output("reduce", log, *WHO, *ENTIRE, "--keep-log")
    log.unlink()
    before = folder_content(folder)
    done = program.json("reduce", "--again", "--replace")
    assert {point["outcome"] for point in done["points"]} == {"alike"}
    assert len(done["points"]) >= 4
    assert folder_content(folder) == before


@pytest.mark.long
def test_a_flight_stored_entire_and_asked_by_manoeuvres_is_said(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO, *ENTIRE)
    same = program.json("reduce", log, *WHO, *ENTIRE)
    assert (same["known_already"], same["asked_otherwise"]) == (True, [])
    other = program.json("reduce", log, *WHO, "--solve-by", "manoeuvres")["asked_otherwise"]
    assert [(one["option"], one["stored"], one["given"]) for one in other] == [
        ("--solve-by", "flight", "manoeuvres")
    ]


@pytest.mark.long
def test_a_folder_of_ordinary_flights_is_done_at_once_and_goes_on_from_where_it_stopped(
    program: Program, folder: Path, logs: list[str]
) -> None:
    season = folder / "season"
    season.mkdir()
    for number, text in enumerate(logs):
        (season / f"{number}.csv").write_text(text, encoding="utf-8")
    (season / "damaged.csv").write_text(logs[0][:300], encoding="utf-8")
    # as if it had been interrupted after the first
    alone = program.json("reduce", season / "0.csv", *WHO, *ENTIRE)
    done = program.run("reduce", season, *WHO, *ENTIRE, "--processes", 1, "--format", "json")
    assert done.exit_code == 3
    found = program.json("points", "list")["points"]
    assert {point["technique"] for point in found} == {ORDINARY_FLIGHT}
    first = [point for point in found if point["source_name"] == "0.csv"]
    assert [p["kappa"] for p in first] == [run["kappa"] for run in alone["runs"]]
    assert len(found) > len(first)
    (season / "damaged.csv").unlink()
    before = stored(program)
    again = program.json("reduce", season, *WHO, *ENTIRE, "--processes", 1)
    assert (again["stored"], again["known"], again["failed"]) == (0, 2, 0)
    assert stored(program) == before


def test_a_flight_that_went_one_way_only_is_refused_and_says_what_to_fly(
    program: Program, folder: Path
) -> None:
    straight = fly(Card(airspeeds_kt=(95.0,), legs=1, leg_s=900))
    kept = np.arange(len(straight.ias_kt)) < 1000  # before its one turn
    path = folder / "straight.csv"
    lines = sortie_text(straight).splitlines()
    path.write_text("\n".join(lines[: 1 + int(kept.sum())]) + "\n", encoding="utf-8")
    done = program.run("reduce", path, "--preview", *ENTIRE)
    assert_explained(done, 37, "straight.csv: the course hardly changed")
    assert "a full circle" in done.stderr


@pytest.mark.parametrize("words", [("--drop", "1:1"), ("--keep", "1")])
def test_no_legs_are_chosen_in_an_ordinary_flight(
    program: Program, log: Path, words: tuple[str, ...]
) -> None:
    done = program.run("reduce", log, "--preview", *ENTIRE, *words)
    assert done.exit_code == 2
    assert "not '--solve-by flight'" in done.stderr


@pytest.mark.long
def test_its_figure_is_drawn_with_every_airspeed(program: Program, log: Path, folder: Path) -> None:
    program.output("reduce", log, "--preview", *ENTIRE, "--out", folder / "tour.svg")
    drawn = (folder / "tour.svg").read_text(encoding="utf-8")
    for run in program.json("reduce", log, "--preview", *ENTIRE)["runs"]:
        assert f"run {run['run']}: {run['vic_kt']:.1f} kt indicated" in drawn
