from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcal.airdata.ground_vectors import bearing_from, largest_track_gap
from fleetcal.airdata.leg_solution import solve_legs
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.run_quality import WIDEST_GAP_RAD
from tests.airdata.run_maker import evenly, made_run

many = settings(max_examples=250)


def between(low, high):
    return st.floats(low, high, allow_nan=False, width=64)


@st.composite
def runs(draw):
    """A run without noise: random wind, headings, kappa, and airspeeds held leg by leg."""
    count = draw(st.integers(3, 8))

    def each(low, high):
        return np.array(draw(st.lists(between(low, high), min_size=count, max_size=count)))

    readings = Readings(
        airspeed_mps=draw(between(30.0, 100.0)) * (1.0 + each(-0.08, 0.08)),
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
    solution = solved(made)
    assert solution.converged[0]
    assert solution.kappa[0] == pytest.approx(made.kappa, abs=1e-9)
    assert solution.wind_east_mps[0] == pytest.approx(made.wind_east_mps, abs=1e-9)
    assert solution.wind_north_mps[0] == pytest.approx(made.wind_north_mps, abs=1e-9)
    np.testing.assert_allclose(solution.true_airspeed_mps[0], made.true_airspeed_mps, rtol=1e-9)
    np.testing.assert_allclose(solution.residual_mps[0], 0.0, atol=1e-9)


@many
@given(runs(), between(-np.pi, np.pi))
def test_another_reference_for_tracks_turns_the_wind_and_nothing_else(made, turn):
    first = solved(made)
    east = made.east_mps * np.cos(turn) + made.north_mps * np.sin(turn)
    north = made.north_mps * np.cos(turn) - made.east_mps * np.sin(turn)
    second = solve_legs(east, north, made.readings)
    assert second.kappa[0] == pytest.approx(first.kappa[0], abs=1e-9)
    before = complex(first.wind_north_mps[0], first.wind_east_mps[0])
    after = complex(second.wind_north_mps[0], second.wind_east_mps[0])
    assert abs(after - before * np.exp(1j * turn)) < 1e-9
    if abs(before) > 0.1:
        angle = bearing_from(after.imag, after.real) - bearing_from(before.imag, before.real)
        assert abs(np.angle(np.exp(1j * (angle - turn)))) < 1e-6


@many
@given(runs(), st.integers(1, 4), st.sampled_from([0.0, 40.0, np.nan]))
def test_padding_changes_nothing(made, more, junk):
    def pad(values):
        return np.append(values, np.full(more, junk))

    r = made.readings
    readings = Readings(
        airspeed_mps=pad(r.airspeed_mps),
        altitude_m=pad(r.altitude_m),
        temperature_k=pad(r.temperature_k),
        recovery_factor=pad(r.recovery_factor),
    )
    weight = np.append(np.ones(len(made.east_mps)), np.zeros(more))
    alone = solved(made)
    padded = solve_legs(pad(made.east_mps), pad(made.north_mps), readings, weight)
    assert padded.converged[0]
    assert padded.legs[0] == alone.legs[0]
    assert padded.kappa[0] == pytest.approx(alone.kappa[0], abs=1e-11)
    assert padded.wind_east_mps[0] == pytest.approx(alone.wind_east_mps[0], abs=1e-9)
    assert padded.wind_north_mps[0] == pytest.approx(alone.wind_north_mps[0], abs=1e-9)


@many
@given(runs(), st.randoms(use_true_random=False))
def test_the_order_of_the_legs_does_not_matter(made, random):
    order = list(range(len(made.east_mps)))
    random.shuffle(order)
    r = made.readings
    readings = Readings(
        airspeed_mps=r.airspeed_mps[order],
        altitude_m=r.altitude_m[order],
        temperature_k=r.temperature_k[order],
        recovery_factor=r.recovery_factor[order],
    )
    shuffled = solve_legs(made.east_mps[order], made.north_mps[order], readings)
    assert shuffled.kappa[0] == pytest.approx(solved(made).kappa[0], abs=1e-10)


@many
@given(runs())
def test_the_gain_tells_how_the_solution_answers_to_a_change_of_one_leg(made):
    # Exact to first order: moving leg 0 outwards along its air vector by h moves the unknowns
    # by -gain * h.
    step = 1e-3
    air = made.heading_rad[0]
    moved = []
    for h in (step, -step):
        east, north = made.east_mps.copy(), made.north_mps.copy()
        east[0] += h * np.sin(air)
        north[0] += h * np.cos(air)
        moved.append(solve_legs(east, north, made.readings))
    up, down = moved
    gain = solved(made).gain[0, :, 0]
    found = [
        (getattr(up, n)[0] - getattr(down, n)[0]) / (2 * step)
        for n in ("wind_east_mps", "wind_north_mps", "kappa")
    ]
    np.testing.assert_allclose(found, -gain, rtol=1e-4, atol=1e-6)


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
        solution = solved(made)
        assert solution.converged[0]
        assert solution.kappa[0] == pytest.approx(made.kappa, abs=1e-9)
    assert tried > 100
