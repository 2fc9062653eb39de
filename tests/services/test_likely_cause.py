"""What most likely hides the legs of a log is named from the log alone."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fleetcal.flightlog import LegSettings
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.likely_cause import likely_cause
from tests.services.dry_air import DRY

pytestmark = pytest.mark.any_store("opens no store")

ROWS = 400
LIMITS = LegSettings()
ASSUMED = "'IAS' states no unit; kt is assumed"


def steady(interval_s: float = 1.0, airspeed_mps: float = 45.0) -> Recorded:
    """A log that nothing hides: every row complete, at one airspeed."""
    return Recorded(
        source_name="a.csv",
        t_s=np.linspace(0.0, interval_s * (ROWS - 1), ROWS),
        airspeed_mps=np.full(ROWS, airspeed_mps),
        altitude_m=np.full(ROWS, 1200.0),
        temperature_k=np.full(ROWS, 280.0),
        ground_speed_mps=np.full(ROWS, 50.0),
        track_rad=np.zeros(ROWS),
        relative_humidity=np.zeros(ROWS),
        taken=DRY,
    )


def lacking(column: str, kept: int) -> Recorded:
    """The same log with a column that stands in its first rows only."""
    whole = steady()
    there = np.arange(ROWS) < kept
    changed: dict[str, Any] = {column: np.where(there, getattr(whole, column), np.nan)}
    return replace(whole, **changed)


def test_where_the_log_hides_nothing_only_an_assumed_unit_is_named() -> None:
    assert likely_cause(steady(), LIMITS, ["rows out of order"]) == ""
    named = likely_cause(steady(), LIMITS, ["rows out of order", ASSUMED])
    assert named == f"a unit that was assumed: {ASSUMED}"


@pytest.mark.parametrize("column", ["airspeed_mps", "altitude_m", "ground_speed_mps", "track_rad"])
def test_rows_that_lack_a_reading_are_counted(column: str) -> None:
    assert likely_cause(lacking(column, 9), LIMITS, [ASSUMED]).startswith("only 9 rows have ")
    assert likely_cause(lacking(column, 100), LIMITS, [ASSUMED]).startswith("75 % of the rows lack")
    assert likely_cause(lacking(column, 200), LIMITS, []) == ""


def test_an_airspeed_below_all_legs_is_named_with_its_limit() -> None:
    slow = steady(airspeed_mps=LIMITS.slowest_mps - 1.0)
    assert likely_cause(slow, LIMITS, [ASSUMED]).startswith("the airspeed hardly passes ")
    assert likely_cause(steady(airspeed_mps=LIMITS.slowest_mps), LIMITS, []) == ""


def test_rows_too_far_apart_for_a_leg_are_named_with_their_interval() -> None:
    longest = LIMITS.shortest_s / LIMITS.fewest_samples
    assert likely_cause(steady(interval_s=longest), LIMITS, []) == ""
    named = likely_cause(steady(interval_s=longest + 1.0), LIMITS, [ASSUMED])
    assert named == (
        f"the log has one complete row every {longest + 1.0:.0f} s, and a leg needs "
        f"{LIMITS.fewest_samples}"
    )
