"""The watch on one airframe: against dense algebra and brute force, and what it promises."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.flight_sums import Extra, flight_sums, solve, try_levels
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.scan_chance import chance_of_any, places_looked_at
from fleetcal.fleet.watch import HORIZON, LIMIT, SERIES, watch_flights
from fleetcal.fleet.watched_sizes import change_band, flight_levels, smallest_found
from tests.fleet.simulations.invented_fleet import KAPPA_PER_KT, lift_at
from tests.fleet.simulations.watched import Season, first_flights, season

STEPPED = Season(step_kt=3.0, as_supposed=True)
AT_100_KT = lift_at(np.array([100.0]))


def test_the_chance_of_any_step_is_that_of_drawn_series() -> None:
    flights = 14
    drawn = np.random.default_rng(1).standard_normal((100_000, flights))
    sums = np.c_[np.zeros(len(drawn)), np.cumsum(drawn, axis=1)]
    before, flown = places_looked_at(flights)
    size = np.sqrt(before * (1.0 - before / flown))
    largest = np.abs((sums[:, before] - before / flown * sums[:, flown]) / size).max(axis=1)
    for single in (0.01, 0.001):
        happened = np.mean(largest > stats.norm.isf(single / 2.0))
        error = 4.0 * np.sqrt(happened / len(drawn)) + 0.03 * happened
        assert chance_of_any(single, np.ones(flights)) == pytest.approx(happened, abs=error)


def test_the_limit_is_one_false_alarm_in_200_series_of_fifty_flights() -> None:
    assert chance_of_any(LIMIT, np.ones(HORIZON)) == pytest.approx(1.0 / SERIES, rel=0.03)
    shorter = [chance_of_any(LIMIT, np.ones(flights)) for flights in (5, 10, 20, 49)]
    assert shorter == sorted(shorter)
    assert shorter[-1] < 1.0 / SERIES
    assert chance_of_any(LIMIT, np.ones(4)) == 1.0


def dense(points: FleetPoints, tau: float, phi: float, level_from: int) -> tuple[float, ...]:
    """Size and variance of a step, and log likelihood with it, by matrices of all points."""
    flight = points.aircraft
    same = flight[:, None] == flight[None, :]
    z = curve_basis(points.x, 1)
    errors = np.diag(points.u_own**2) + points.u_shared @ points.u_shared.T * same
    variance = phi * errors + tau**2 * (z @ np.diag([1.0, 4.0]) @ z.T) * same
    design = np.c_[curve_basis(points.x, 2), points.u_airframe, flight >= level_from]
    precision = np.r_[1.0, 4.0, 4.0, np.ones(points.u_airframe.shape[1]), 1.0]
    inverse = np.linalg.inv(variance)
    left = design.T @ inverse @ design + np.diag(precision)
    mean = np.linalg.solve(left, design.T @ inverse @ points.y)
    # the marginal likelihood of y, coefficients drawn from their priors, but for a constant
    marginal = variance + design @ np.diag(1.0 / precision) @ design.T
    logged = -0.5 * (
        np.linalg.slogdet(marginal)[1] + points.y @ np.linalg.solve(marginal, points.y)
    )
    return float(mean[-1]), float(np.linalg.inv(left)[-1, -1]), float(logged)


def test_steps_are_those_of_dense_algebra_at_every_scatter() -> None:
    points = season(Season(flights=9, least_before=4, least_after=4), 11).points
    sums = flight_sums(points)
    tried = try_levels(sums, solve(sums, 9), [Extra(4, 9), Extra(6, 99)])
    logged = tried.log_weight - sums.prior
    shift: list[float] = []
    for place, start in enumerate((4, 6)):
        for node in (0, 3, 40, 88):
            tau, phi = float(sums.scatter[node]), float(sums.factor[node])
            size, variance, likely = dense(points, tau, phi, start)
            assert tried.size[place, node] == pytest.approx(size, rel=1e-6, abs=1e-9)
            assert tried.variance[place, node] == pytest.approx(variance, rel=1e-6)
            shift.append(float(logged[place, node]) - likely)
    assert np.ptp(shift) < 1e-5


def test_a_step_known_before_is_that_of_dense_algebra_too() -> None:
    points = season(STEPPED, 12).points
    sums = flight_sums(points)
    both = solve(sums, 20, [Extra(5, 99), Extra(12, 99)])
    one_by_one = try_levels(sums, solve(sums, 20, [Extra(5, 99)]), [Extra(12, 99)])
    assert one_by_one.size[0] == pytest.approx(both.mean[:, -1], rel=1e-8)
    assert one_by_one.variance[0] == pytest.approx(both.covariance[:, -1, -1], rel=1e-8)
    assert one_by_one.log_weight[0] == pytest.approx(both.log_weight, abs=1e-7)


@pytest.mark.parametrize("seed", [21, 22, 23, 24])
def test_a_planted_step_is_found_dated_and_sized_either_way(seed: int) -> None:
    flown = season(STEPPED, seed)
    found = watch_flights(flown.points)
    (change,) = found.changes
    assert smallest_found(found) is not None
    assert change.earliest <= flown.change <= change.latest
    assert change.raised_by < flown.change + 6
    band = change_band(found, 0, AT_100_KT)
    assert band.centre[0] == pytest.approx(
        KAPPA_PER_KT * flown.truth_kt[1], abs=band.high[0] - band.low[0]
    )
    levels = flight_levels(found)
    moved = levels.level[change.flight :].mean() - levels.level[: change.flight].mean()
    assert moved == pytest.approx(band.centre[0], abs=0.5 * KAPPA_PER_KT)


def test_steps_are_found_both_ways() -> None:
    signs = {np.sign(season(STEPPED, seed).truth_kt[1]) for seed in (21, 22, 23, 24)}
    assert signs == {-1.0, 1.0}


def moved(points: FleetPoints, flights: range, knots: float) -> FleetPoints:
    """Points with some flights moved by so many knots at 100 kt."""
    mine = np.isin(points.aircraft, list(flights))
    return replace(points, y=points.y + KAPPA_PER_KT * knots * mine)


@pytest.mark.long
def test_a_leak_and_its_repair_are_two_changes_and_more_are_not_looked_for_forever() -> None:
    clean = season(Season(flights=40, as_supposed=True), 31).points
    found = watch_flights(moved(clean, range(10, 20), 4.0))
    assert [change.flight for change in found.changes] == [10, 20]
    several = moved(moved(moved(clean, range(6, 12), 5.0), range(18, 24), 5.0), range(30, 40), 5.0)
    more = watch_flights(several)
    assert [change.flight for change in more.changes] == [6, 12, 18]
    assert more.more
    assert not found.more


@pytest.mark.parametrize("flight", [3, 10, 19])
def test_one_flight_that_is_off_is_marked_and_no_change(flight: int) -> None:
    clean = season(Season(as_supposed=True), 41).points
    found = watch_flights(moved(clean, range(flight, flight + 1), 6.0))
    assert found.changes == ()
    assert found.odd == (flight,)


def test_an_alarm_stays_and_was_raised_by_the_flights_before_it() -> None:
    points = season(STEPPED, 22).points
    end = watch_flights(points).changes[0]
    assert watch_flights(first_flights(points, end.raised_by)).changes == ()
    (then,) = watch_flights(first_flights(points, end.raised_by + 1)).changes
    assert (then.raised_by, then.single) == (end.raised_by, end.single)


def test_an_error_of_the_airframe_that_stays_is_no_change() -> None:
    points = season(STEPPED, 23).points
    wrong = replace(points, y=points.y + 1.5 * points.u_airframe[:, 0])
    before, after = (change_band(watch_flights(p), 0, AT_100_KT) for p in (points, wrong))
    assert after.centre == pytest.approx(before.centre, abs=0.1 * KAPPA_PER_KT)


def test_a_short_series_is_not_judged() -> None:
    short = watch_flights(first_flights(season(STEPPED, 24).points, 4))
    assert not short.long_enough
    assert (short.changes, short.odd, short.p_value, short.false_alarm) == ((), (), 1.0, 0.0)
    assert watch_flights(first_flights(season(STEPPED, 24).points, 5)).long_enough


@pytest.mark.long
def test_the_smallest_step_told_is_found_in_most_cases() -> None:
    told: list[Array] = []
    for seed in range(51, 71):
        clean = season(Season(as_supposed=True), seed).points
        smallest = smallest_found(watch_flights(clean))
        assert smallest is not None
        after, step = smallest
        late = range(20 - after, 20)
        found = [
            bool(watch_flights(moved(clean, late, sign * step / KAPPA_PER_KT)).changes)
            for sign in (-1.0, 1.0)
        ]
        told.append(np.array(found, dtype=np.float64))
    # 80 % is said; three errors of 40 cases
    assert abs(np.mean(told) - 0.8) < 3.0 * 0.4 / np.sqrt(40.0)
