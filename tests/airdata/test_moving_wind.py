"""The banded fit of a wind that moves, against generalised least squares with full matrices."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fleetcal.airdata.moving_wind import Linear, Strength, Winds

CALM = Strength(noise=0.7, walk_mps2_per_s=1e-4, drift_mps2=2e-4, shear_per_s=0.008)
RESTLESS = Strength(noise=1.6, walk_mps2_per_s=2e-2, drift_mps2=5e-3, shear_per_s=0.008)
STRENGTHS = (CALM, RESTLESS)


def flight(seed, count=23, groups=3, climb_m=0.0, across=False):
    """Pieces of a flight that turns, with whatever values; times and lengths uneven."""
    rng = np.random.default_rng(seed)
    lasting = rng.uniform(15.0, 40.0, count)
    time = np.cumsum(lasting + rng.uniform(0.6, 60.0, count))
    heading = rng.uniform(0.0, 2.0 * np.pi, count)
    direction = np.column_stack([np.sin(heading), np.cos(heading)]) * rng.uniform(
        0.8, 1.0, (count, 1)
    )
    slope = np.zeros((count, groups))
    slope[np.arange(count), np.arange(count) * groups // count] = -rng.uniform(20.0, 28.0, count)
    along = Linear(
        value=rng.normal(0.0, 3.0, count),
        direction=direction,
        slope=slope,
        supposed=rng.uniform(0.1, 0.5, count),
        time_s=time,
        height_m=600.0 + climb_m * np.linspace(0.0, 1.0, count) ** 2,
        lasting_s=lasting,
        other=np.zeros((count, 0)),
        u_other=np.zeros(0),
        least_noise=np.zeros(count),
    )
    if not across:
        return along
    return replace(
        along,
        value=np.append(along.value, rng.normal(0.0, 3.0, count)),
        direction=np.concatenate([direction, direction[:, ::-1] * [1.0, -1.0]]),
        slope=np.concatenate([slope, 0.0 * slope]),
        supposed=np.append(along.supposed, rng.uniform(0.3, 0.9, count)),
        other=np.concatenate([np.zeros((count, 2)), rng.normal(0.0, 50.0, (count, 2))]),
        u_other=np.array([0.5, 0.05]),
        least_noise=np.append(along.least_noise, np.ones(count)),
    )


def steps_of_height(height):
    """From -1/2 to 1/2 over each of as many steps as are nearest to 300 m; none over 30 m."""
    span = np.ptp(height)
    if span <= 30.0:
        return [], 1.0
    count = max(int(np.rint(span / 300.0)), 1)
    step = span / count
    edges = height.min() + step * np.arange(count)
    return [np.clip((height - edge) / step, 0.0, 1.0) - 0.5 for edge in edges], step


def full_covariance(pieces, strength):
    """Covariance of the values but for kappa and first wind, of the walk at the pieces' ends."""
    count, times = len(pieces.time_s), len(pieces.value) // len(pieces.time_s)
    ends = np.column_stack(
        [pieces.time_s - pieces.lasting_s / 2.0, pieces.time_s + pieces.lasting_s / 2.0]
    ).ravel()
    passed = np.append(0.0, np.cumsum(np.maximum(np.diff(ends), 0.5)))
    walk = strength.walk_mps2_per_s * np.minimum.outer(passed, passed)
    mean_of_ends = np.kron(np.eye(count), [0.5, 0.5])
    mean_walk = mean_of_ends @ walk @ mean_of_ends.T
    since = pieces.time_s - pieces.time_s.mean()
    wind = mean_walk + strength.drift_mps2**2 * np.outer(since, since)
    ramps, step = steps_of_height(pieces.height_m)
    for ramp in ramps:
        wind = wind + strength.shear_per_s**2 * step**2 * np.outer(ramp, ramp)
    noise = (np.maximum(strength.noise, pieces.least_noise) * pieces.supposed) ** 2
    noise = noise + strength.walk_mps2_per_s * np.tile(pieces.lasting_s, times) / 12.0
    both = np.kron(np.ones((times, times)), wind)
    towards = pieces.direction
    covariance = both * (towards @ towards.T) + np.diag(noise)
    return covariance + (pieces.other * pieces.u_other**2) @ pieces.other.T


def by_full_matrices(pieces, strength):
    """Generalised least squares of the kappas and a first wind of which nothing is supposed."""
    groups = pieces.slope.shape[1]
    covariance = full_covariance(pieces, strength)
    columns = np.column_stack([pieces.slope, pieces.direction])
    weighed = np.linalg.solve(covariance, columns)
    normal = columns.T @ weighed
    gain = np.linalg.solve(normal, weighed.T)
    left = pieces.value - columns @ (gain @ pieces.value)
    squares = float(left @ np.linalg.solve(covariance, left))
    log_det = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(normal)[1]
    return gain[:groups], np.linalg.inv(normal)[:groups, :groups], squares, -(log_det + squares) / 2


CASES: dict[str, dict[str, Any]] = {
    "level": {},
    "two groups, climbing through one step": {"groups": 2, "climb_m": 250.0},
    "climbing through three steps": {"climb_m": 940.0},
    "with a heading": {"across": True},
    "one group, with a heading, climbing": {"groups": 1, "across": True, "climb_m": 500.0},
}


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("strength", STRENGTHS, ids=["calm", "restless"])
def test_kappa_and_all_that_belongs_to_it_agree_with_full_matrices(name, strength):
    pieces = flight(1, **CASES[name])
    found = Winds(pieces).fit(strength)
    gain, covariance, squares, _ = by_full_matrices(pieces, strength)
    np.testing.assert_allclose(found.kappa, gain @ pieces.value, rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(found.covariance, covariance, rtol=1e-7)
    np.testing.assert_allclose(found.gain, gain, rtol=1e-6, atol=1e-9)
    assert found.squares == pytest.approx(squares, rel=1e-8)


@pytest.mark.parametrize("name", CASES)
def test_scores_of_two_strengths_differ_as_full_matrices_say(name):
    pieces = flight(2, **CASES[name])
    winds = Winds(pieces)
    ours = winds.fit(CALM).score - winds.fit(RESTLESS).score
    calm, restless = (by_full_matrices(pieces, strength)[3] for strength in STRENGTHS)
    assert abs(calm - restless) > 1.0
    assert ours == pytest.approx(calm - restless, abs=1e-5)


def test_gain_is_how_kappa_answers_to_each_value():
    pieces = flight(3, climb_m=700.0, across=True)
    found = Winds(pieces).fit(RESTLESS)
    for place in (0, 11, 30):
        change = 0.5 * (np.arange(len(pieces.value)) == place)
        moved = Winds(replace(pieces, value=pieces.value + change)).fit(RESTLESS)
        np.testing.assert_allclose(moved.kappa - found.kappa, found.gain @ change, rtol=1e-6)


def test_a_wind_that_walks_drifts_and_grows_with_height_is_given_back():
    pieces = flight(4, count=60, climb_m=900.0)
    since = pieces.time_s - pieces.time_s.mean()
    ramps, _ = steps_of_height(pieces.height_m)
    wind = np.column_stack([4.0 + 0.004 * since + 3.0 * ramps[1], -7.0 - 0.002 * since])
    kappa = np.array([0.05, -0.02, 0.11])
    value = (pieces.direction * wind).sum(axis=1) + pieces.slope @ kappa
    free = Strength(noise=0.01, walk_mps2_per_s=1e-6, drift_mps2=0.1, shear_per_s=1.0)
    found = Winds(replace(pieces, value=value)).fit(free)
    np.testing.assert_allclose(found.kappa, kappa, atol=1e-4)
    np.testing.assert_allclose(found.wind, wind, atol=5e-3)


def test_work_grows_with_the_length_of_the_flight_and_no_matrix_has_its_square():
    # 4,000 pieces: a full matrix of the winds would take 0.5 GB
    import tracemalloc

    pieces = flight(5, count=4000)
    tracemalloc.start()
    Winds(pieces).fit(CALM)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 20e6


def test_values_beyond_the_kappas_and_one_wind_are_free():
    assert Winds(flight(6, count=12, groups=2)).free == 8
    assert Winds(flight(6, count=12, groups=2, across=True)).free == 20
