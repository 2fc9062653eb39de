"""What flights to come would leave uncertain of an aircraft's own curve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.few_aircraft import any_port
from fleetcal.fleet.foreseen_own import ForeseenOwn
from fleetcal.fleet.next_points import FlightToCome, PointsToPlan
from fleetcal.fleet.own_curve import OwnPoints, own_curve
from fleetcal.fleet.points import Array
from fleetcal.fleet.port_prior import PortPrior

SPEEDS = np.arange(60.0, 126.0, 5.0)
LIFT = (45.0 / SPEEDS) ** 2
KNOTS = SPEEDS / 2.0


def points(speeds: list[float], u: float = 0.008, lasting: float = 0.0) -> OwnPoints:
    """Points of one flight that read a quadratic."""
    x = (45.0 / np.array(speeds, dtype=np.float64)) ** 2
    return OwnPoints(
        x=x,
        y=0.03 - 0.1 * (x - 0.25),
        errors=u**2 * np.eye(len(x)),
        lasting=np.full((len(x), 1), lasting),
    )


def foreseen(own: OwnPoints, lasting: float = 0.0) -> ForeseenOwn:
    curve = own_curve(any_port(PortPrior(), own.x), own)
    return ForeseenOwn(curve=curve, x=LIFT, lasting=np.array([lasting]))


def flight(speeds: list[float], u: float = 0.008, shared: float = 0.0) -> FlightToCome:
    x = (45.0 / np.array(speeds, dtype=np.float64)) ** 2
    return FlightToCome(x=x, u_own=np.full(len(x), u), u_shared=np.full((len(x), 1), shared))


NOTHING = points([])
FOUR = [62.0, 75.0, 95.0, 120.0]


def largest(deviation: Array) -> float:
    return float(np.max(KNOTS * deviation))


def test_a_first_flight_without_surprises_leaves_what_was_foreseen() -> None:
    ahead = foreseen(NOTHING).deviation([flight(FOUR)])
    then = foreseen(points(FOUR)).deviation()
    assert then == pytest.approx(ahead, rel=0.1)
    assert largest(ahead) < 0.2 * largest(foreseen(NOTHING).deviation())


def test_each_flight_more_makes_the_band_narrower_and_errors_that_last_end_that() -> None:
    free, bound = foreseen(NOTHING), foreseen(NOTHING, lasting=0.01)
    narrow = [largest(free.deviation([flight(FOUR)] * n)) for n in (0, 1, 2, 4, 30)]
    assert narrow == sorted(narrow, reverse=True)
    held = largest(bound.deviation([flight(FOUR)] * 30))
    assert held > 0.95 * 0.01 * KNOTS[0]
    assert held > 1.5 * narrow[-1]


def test_flights_added_one_by_one_are_flights_added_together() -> None:
    one = foreseen(points(FOUR[:3])).after([flight(FOUR)]).after([flight([100.0, 110.0])])
    both = foreseen(points(FOUR[:3])).after([flight(FOUR), flight([100.0, 110.0])])
    assert one.deviation() == pytest.approx(both.deviation(), rel=1e-4)


def test_an_error_that_a_flight_shares_is_not_averaged_out_by_its_runs() -> None:
    own = foreseen(NOTHING)
    alone = largest(own.deviation([flight(FOUR, shared=0.02)]))
    together = largest(own.deviation([flight(FOUR * 5, shared=0.02)]))
    assert together > 0.02 * KNOTS[0]
    assert together > 0.6 * alone


def test_the_plan_is_no_worse_than_equally_spaced_speeds_and_promises_what_it_gives() -> None:
    own = foreseen(points([70.0, 75.0, 80.0]))
    u_own, u_shared = np.full(len(LIFT), 0.008), np.zeros((len(LIFT), 1))
    plan = own.plan(PointsToPlan(scale=KNOTS, u_own=u_own, u_shared=u_shared, count=3))
    chosen = own.deviation([flight(SPEEDS[plan.chosen].tolist())])
    assert plan.after[-1] == pytest.approx(chosen, rel=1e-9)
    assert plan.before == pytest.approx(own.deviation(), rel=1e-9)
    assert largest(chosen) <= 1.02 * largest(own.deviation([flight([60.0, 90.0, 125.0])]))
    assert max(SPEEDS[plan.chosen]) >= 110.0


def test_points_to_come_scatter_as_those_flown() -> None:
    own = points(FOUR)
    rough = replace(own, y=own.y + 0.06 * np.array([1.0, -1.0, 1.0, -1.0]))
    assert foreseen(rough).factor > 4.0
    assert foreseen(rough).after([flight(FOUR)]).factor == foreseen(rough).factor
