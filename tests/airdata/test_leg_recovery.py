from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcal.airdata.ground_vectors import bearing_from, largest_track_gap
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.run_quality import WIDEST_GAP_RAD
from tests.airdata.run_maker import evenly, made_run
from tests.airdata.solved_legs import readings_at, solve_legs, wind_of

pytestmark = pytest.mark.long

many = settings(max_examples=100, deadline=None)
#: Beyond this no wind is recovered, m/s: one of 0 +- 10 km/s is supposed before any leg is seen.
NEAR = 1e-6


def between(low, high):
    return st.floats(low, high, allow_nan=False, width=64)


@st.composite
def runs(draw, hold=0.08):
    """A run without noise: random wind, headings, kappa, and airspeeds held leg by leg."""
    count = draw(st.integers(3, 8))

    def each(low, high):
        return np.array(draw(st.lists(between(low, high), min_size=count, max_size=count)))

    readings = Readings(
        airspeed_mps=draw(between(30.0, 100.0)) * (1.0 + each(-hold, hold)),
        altitude_m=draw(between(-300.0, 8000.0)) + each(-30.0, 30.0),
        temperature_k=draw(between(235.0, 315.0)) + each(-1.0, 1.0),
        recovery_factor=np.full(count, draw(between(0.0, 1.0))),
    )
    heading = evenly(count, draw(between(0.0, 2.0 * np.pi))) + each(-0.3, 0.3) * 6.0 / count
    return made_run(
        heading,
        readings,
        draw(between(-0.3, 0.4)),
        draw(between(0.0, 0.5)) * float(readings.airspeed_mps.mean()),
        draw(between(0.0, 2.0 * np.pi)),
    )


def solved(made):
    return solve_legs(made.east_mps, made.north_mps, made.readings)


@many
@given(runs())
def test_a_run_without_noise_is_recovered(made):
    found = solved(made)
    assert found.converged
    assert found.kappa[0] == pytest.approx(made.kappa, abs=1e-8)
    np.testing.assert_allclose(
        found.wind_mps, [[made.wind_east_mps, made.wind_north_mps]] * len(made.east_mps), atol=NEAR
    )
    np.testing.assert_allclose(found.looked.speed_mps, made.true_airspeed_mps, rtol=1e-8)
    np.testing.assert_allclose(found.looked.over_mps, 0.0, atol=NEAR)


@many
@given(runs(), between(-np.pi, np.pi))
def test_another_reference_for_tracks_turns_the_wind_and_nothing_else(made, turn):
    first = solved(made)
    east = made.east_mps * np.cos(turn) + made.north_mps * np.sin(turn)
    north = made.north_mps * np.cos(turn) - made.east_mps * np.sin(turn)
    second = solve_legs(east, north, made.readings)
    assert second.kappa[0] == pytest.approx(first.kappa[0], abs=1e-8)
    before, after = (complex(*wind_of(found)[::-1]) for found in (first, second))
    assert abs(after - before * np.exp(1j * turn)) < NEAR
    if abs(before) > 0.1:
        angle = bearing_from(after.imag, after.real) - bearing_from(before.imag, before.real)
        assert abs(np.angle(np.exp(1j * (angle - turn)))) < 1e-5


@many
@given(runs(), st.randoms(use_true_random=False))
def test_the_order_of_the_legs_does_not_matter(made, random):
    order = list(range(len(made.east_mps)))
    random.shuffle(order)
    shuffled = solve_legs(
        made.east_mps[order], made.north_mps[order], readings_at(made.readings, order)
    )
    assert shuffled.kappa[0] == pytest.approx(solved(made).kappa[0], abs=1e-8)


@many
@given(runs(hold=0.01))
def test_the_gain_tells_how_kappa_answers_to_a_change_of_one_leg(made):
    # Exact to first order: moving leg 0 outwards along its air vector by h is as good as an
    # airspeed that is less by h. Legs have the slope of the airspeed that was meant, up to two
    # hundredths from their own, so that the gain is right to some thousandths.
    step = 1e-3
    air = made.heading_rad[0]
    up, down = (
        solve_legs(
            made.east_mps + h * np.sin(air) * _first(made),
            made.north_mps + h * np.cos(air) * _first(made),
            made.readings,
        )
        for h in (step, -step)
    )
    found = (up.kappa[0] - down.kappa[0]) / (2.0 * step)
    assert found == pytest.approx(-solved(made).gain[0, 0], rel=5e-3, abs=1e-6)


def _first(made):
    return np.arange(len(made.east_mps)) == 0


def test_runs_with_tracks_as_wide_as_allowed_are_recovered():
    # Three headings in a half circle: the least spread that is not refused.
    generator = np.random.default_rng(4)
    tried = 0
    for _ in range(300):
        heading = np.radians([0.0, 85.0, 170.0]) + generator.uniform(0.0, 6.0)
        readings = Readings(
            airspeed_mps=generator.uniform(40.0, 60.0) * generator.uniform(0.97, 1.03, 3),
            altitude_m=np.full(3, 1500.0),
            temperature_k=np.full(3, 280.0),
            recovery_factor=np.full(3, 0.8),
        )
        made = made_run(
            heading,
            readings,
            generator.uniform(-0.2, 0.2),
            generator.uniform(0.0, 12.0),
            generator.uniform(0.0, 6.0),
        )
        if largest_track_gap(np.arctan2(made.east_mps, made.north_mps)) > WIDEST_GAP_RAD:
            continue
        tried += 1
        found = solved(made)
        assert found.converged
        assert found.kappa[0] == pytest.approx(made.kappa, abs=1e-8)
    assert tried > 100
