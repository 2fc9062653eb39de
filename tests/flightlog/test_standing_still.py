"""A column that holds one value through a flight is doubted by itself; a sound one never."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.flightlog import read_recording
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.shapes import ALT, GS, IAS, OAT, TRACK
from tests.flightlog.corpus.texts import iso, readings, table, written


@pytest.fixture(scope="module")
def flown():
    return fly(1, 36000.0)


def still_in(tmp_path, columns):
    """Return what stood still, or that the log was refused for it."""
    path = tmp_path / "log.csv"
    path.write_text(table(columns))
    try:
        return read_recording(path).still
    except ImplausibleError as error:
        name = error.message.partition(": ")[2].partition(" stood still")[0].replace(" ", "_")
        return {name: error.message}


def level(flown):
    """Return the rows between the first level leg and the last: what a trimmed log has."""
    there = np.flatnonzero(flown.leg >= 0)
    return flown.rows(slice(int(there[0]), int(there[-1]) + 1))


IN_ANY_PART = [
    ("ground_speed", GS, "100.0"),
    ("ground_speed", GS, "100"),
    ("indicated_airspeed", IAS, "95.0"),
    ("pressure_altitude", ALT, "4012"),
    ("track", TRACK, "123.4"),
]
#: Level air may have one temperature, and level flight stay within one hundred feet.
WITH_CLIMB = [("temperature", OAT, "12.5"), ("pressure_altitude", ALT, "-100")]


@pytest.mark.parametrize(("quantity", "heading", "cell"), [*IN_ANY_PART, *WITH_CLIMB])
def test_a_column_that_stood_still_alone_is_named(tmp_path, flown, quantity, heading, cell):
    columns = iso(flown) | readings(flown)
    still = still_in(tmp_path, columns | {heading: [cell] * flown.second.size})
    assert "stood still" in still[quantity]


@pytest.mark.parametrize(("quantity", "heading", "cell"), IN_ANY_PART)
def test_a_column_that_stood_still_is_named_where_only_level_legs_are_logged(
    tmp_path, flown, quantity, heading, cell
):
    part = level(flown)
    columns = iso(part) | readings(part)
    still = still_in(tmp_path, columns | {heading: [cell] * part.second.size})
    assert "stood still" in still[quantity]


def test_a_static_pressure_that_stood_still_alone_is_named(tmp_path, flown):
    columns = iso(flown) | readings(flown)
    del columns[ALT]
    columns["static pressure (hPa)"] = ["931.20"] * flown.second.size
    assert "static_pressure" in still_in(tmp_path, columns)


@pytest.mark.parametrize("trimmed", [False, True])
@pytest.mark.parametrize("seed", range(1, 7))
@pytest.mark.parametrize(
    ("feet", "knots", "degrees"), [(1.0, 0.1, 0.1), (10.0, 1.0, 1.0), (100.0, 1.0, 1.0)]
)
def test_a_sound_flight_stands_still_in_no_column(tmp_path, seed, feet, knots, degrees, trimmed):
    flown = fly(seed, 36000.0)
    part = level(flown) if trimmed else flown

    def coarse(values, step):
        return written(np.round(values / step) * step, 0 if step >= 1.0 else 1)

    columns = iso(part) | readings(part)
    columns |= {
        ALT: coarse(part.altitude_ft, feet),
        GS: coarse(part.gs_kt, knots),
        IAS: coarse(part.ias_kt, knots),
        OAT: coarse(part.oat_degc, degrees),
        TRACK: coarse(part.track_deg % 360.0, degrees),
    }
    assert still_in(tmp_path, columns) == {}


def test_level_flight_may_stay_within_one_hundred_feet_but_not_on_one_foot(tmp_path, flown):
    part = level(flown)
    columns = iso(part) | readings(part)
    held = {ALT: ["3500"] * part.second.size}
    assert still_in(tmp_path, columns | held) == {}
    held = {ALT: ["3504"] * part.second.size}
    assert "pressure_altitude" in still_in(tmp_path, columns | held)
