"""A flight of which a column stood still gives no point that counts."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails, Reduction
from fleetcal.services.flights.settings_file import ReductionSettings
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.shapes import ALT, GS, IAS, OAT
from tests.flightlog.corpus.texts import Columns, iso, readings, table

pytestmark = pytest.mark.any_store("opens no store")


def reduced(path: Path, text: str) -> Reduction:
    path.write_text(text, encoding="utf-8")
    return preview_flight(path, FlightDetails(airframe=None, weight_kg=560.0), ReductionSettings())


def level_rows() -> Columns:
    """Return a log that holds nothing but the level legs and what is between them."""
    flown = fly(1, 36000.0)
    first, *_, last = (flown.leg >= 0).nonzero()[0]
    part = flown.rows(slice(int(first), int(last) + 1))
    return iso(part) | readings(part)


def test_the_log_as_it_was_flown_counts(tmp_path: Path) -> None:
    result = reduced(tmp_path / "log.csv", table(level_rows()))
    assert [run.accepted for run in result.runs] == [True, True]


def test_points_of_a_pressure_altitude_that_stood_still_do_not_count(tmp_path: Path) -> None:
    columns = level_rows()
    columns[ALT] = ["4012"] * len(columns[ALT])
    result = reduced(tmp_path / "log.csv", table(columns))
    assert [run.accepted for run in result.runs] == [False, False]
    assert result.runs[0].reason.startswith(
        "pressure altitude stood still at 4012 ft in all of the flight: look at that sensor"
    )


def test_points_of_a_temperature_that_stood_still_through_a_climb_do_not_count(
    tmp_path: Path,
) -> None:
    flown = fly(1, 36000.0)
    columns = iso(flown) | readings(flown) | {OAT: ["12.5"] * flown.second.size}
    result = reduced(tmp_path / "log.csv", table(columns))
    assert not any(run.accepted for run in result.runs)
    assert "temperature stood still at 12.5 degC" in result.runs[0].reason


SHEET = ("run", IAS, ALT, OAT, GS, "track (deg true)")


def sheet(ground: list[int]) -> str:
    lines = [",".join(SHEET)]
    for leg, speed in enumerate(ground):
        ias, track = (80, 110)[leg // 4], (10, 100, 190, 280)[leg % 4]
        lines.append(f"{leg // 4 + 1},{ias},3000,9,{speed},{track}")
    return "\n".join(lines) + "\n"


def test_one_ground_speed_on_every_leg_of_a_sheet_is_doubted(tmp_path: Path) -> None:
    result = reduced(tmp_path / "legs.csv", sheet([95] * 8))
    assert not any(run.accepted for run in result.runs)
    assert "ground speed is 95 kt on every leg, at airspeeds of 80 to 110 kt" in (
        result.runs[0].reason
    )


def test_legs_flown_in_calm_air_at_one_airspeed_are_not_doubted(tmp_path: Path) -> None:
    text = "\n".join(sheet([84] * 8).splitlines()[:5]) + "\n"
    result = reduced(tmp_path / "legs.csv", text)
    assert [run.accepted for run in result.runs] == [True]
