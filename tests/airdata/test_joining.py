"""Whether a run flew in the air of the others, on runs made from the defining equations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions, air_prior
from fleetcal.airdata.joining import chance_of_joining
from tests.airdata.run_maker import alike, evenly, made_run
from tests.airdata.solved_legs import leg_stretches

PRIOR = air_prior(Assumptions())
DRIFT = np.array([4.0, -3.0]) * 1852.0 / 3600.0 / 600.0  # 5 kt in ten minutes

#: As much as a reading taken once is supposed to scatter by, at 50 m/s.
NOISE_MPS = 0.4


def flown_run(number, group, jump_mps=(0.0, 0.0), altitude_m=900.0, bad_leg_mps=0.0, seed=1):
    """Four legs, 100 s apart, in a wind that changes steadily, read once each."""
    rng = np.random.default_rng(1000 * seed + number)
    readings = alike(4, airspeed_mps=55.0 - 3.0 * (number % 5), altitude_m=altitude_m)
    made = made_run(evenly(4), readings, 0.05, 8.0, 1.0)
    time_s = 500.0 * number + 100.0 * np.arange(4.0)
    noise = rng.normal(0.0, NOISE_MPS, (2, 4))
    noise[:, 2] += bad_leg_mps
    east, north = (
        of_made + rate * time_s + more + off
        for of_made, rate, more, off in zip(
            (made.east_mps, made.north_mps), DRIFT, jump_mps, noise, strict=True
        )
    )
    return leg_stretches(east, north, readings, group, time_s)


def chance(run, place=2, runs=5, altitude_m=900.0, seed=1):
    """Of a run at a place among others that are sound."""
    others = [number for number in range(runs) if number != place]
    stretches = [
        one
        for group, number in enumerate(others)
        for one in flown_run(number, group, altitude_m=altitude_m, seed=seed)
    ]
    return chance_of_joining([replace(one, group=len(others)) for one in run], stretches, PRIOR)


@pytest.mark.parametrize("place", [0, 2])
def test_a_sound_run_in_a_wind_that_drifts_is_likely(place):
    assert chance(flown_run(place, 4), place) > 0.05


@pytest.mark.long
def test_the_chances_of_sound_runs_are_spread_as_chances_are():
    # ten flights: a mean of numbers spread evenly from 0 to 1 is 0.5 with an error of 0.09; the
    # wind wanders less here than it may
    found = np.array([chance(flown_run(2, 4, seed=seed), seed=seed) for seed in range(10)])
    assert 0.5 < found.mean() < 0.85
    assert np.sum(found < 0.01) <= 1


def test_a_wind_that_jumps_is_improbable():
    assert chance(flown_run(2, 4, jump_mps=(6.0, 0.0))) < 1e-3


def test_a_bad_leg_is_improbable():
    assert chance(flown_run(2, 4, bad_leg_mps=5.0)) < 1e-3


def test_a_greater_jump_is_less_likely():
    found = [chance(flown_run(2, 4, jump_mps=(jump, 0.0))) for jump in (0.0, 1.5, 3.0, 6.0)]
    assert np.all(np.diff(found) < 0.0)


def test_another_height_may_have_another_wind():
    jump = (3.0, 0.0)
    level = chance(flown_run(2, 4, jump_mps=jump))
    high = chance(flown_run(2, 4, jump_mps=jump, altitude_m=1500.0))
    assert high > 10.0 * level
