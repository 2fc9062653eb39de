"""What the runs of a sortie show of its air, on runs made from the defining equations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions, LegData, run_air
from fleetcal.airdata.leg_solution import solve_legs
from fleetcal.airdata.weigh_air import chance_of_joining, weigh_air
from fleetcal.units import MPS_PER_KT
from tests.airdata.run_maker import alike, evenly, made_run

DRIFT = np.array([4.0, -3.0]) * MPS_PER_KT / 600.0  # 5 kt in ten minutes
KAPPA = 0.05
SUPPOSED = Assumptions()


def flown_run(number, drift=DRIFT, noise=None, backwards=False, altitude_m=900.0, count=4):
    """A run of four legs, 100 s apart, in a wind that changes steadily; and its error of kappa."""
    heading = evenly(count)[:: -1 if backwards else 1]
    readings = alike(count, airspeed_mps=55.0 - 3.0 * (number % 5), altitude_m=altitude_m)
    made = made_run(heading, readings, KAPPA, 8.0, 1.0)
    middle = 500.0 * number + 100.0 * np.arange(count)
    east, north = (
        v + a * middle for v, a in zip((made.east_mps, made.north_mps), drift, strict=True)
    )
    if noise is not None:
        east, north = east + noise[0], north + noise[1]
    solution = solve_legs(east, north, readings)
    legs = LegData(
        east_mps=east,
        north_mps=north,
        readings=readings,
        middle_s=middle,
        u_mean_mps=np.full(count, 0.05),
        movement={},
        steps={},
    )
    return run_air(legs, solution, 0, SUPPOSED), float(solution.kappa[0]) - KAPPA


def weighed(runs):
    return weigh_air(runs, SUPPOSED.prior_weight, SUPPOSED.u_wind_drift_mps2)


def test_a_steady_drift_is_found_and_what_it_does_to_each_run_is_stated():
    runs, errors = zip(*(flown_run(i) for i in range(4)), strict=True)
    air = weighed(runs)
    np.testing.assert_allclose(air.drift_mps2, DRIFT, rtol=0.05, atol=0.05 * np.hypot(*DRIFT))
    assert air.wander_kt < 0.5
    for run, error in zip(runs, errors, strict=True):
        stated = np.hypot(*air.drift_of(run))
        assert 0.95 * abs(error) < stated < 1.6 * max(abs(error), 0.004)


def test_runs_flown_forth_and_back_are_moved_opposite_ways():
    runs, errors = zip(*(flown_run(i, backwards=bool(i % 2)) for i in range(4)), strict=True)
    air = weighed(runs)
    effects = [air.drift_of(run)[0] for run in runs]
    assert np.all(np.sign(effects[::2]) == -np.sign(effects[1::2]))
    assert np.sign(errors[0]) == -np.sign(errors[1])


def test_the_order_in_which_runs_are_named_does_not_matter():
    rng = np.random.default_rng(2)
    runs = [flown_run(i, noise=rng.normal(0.0, 0.3, (2, 4)))[0] for i in range(4)]
    one, other = weighed(runs), weighed(runs[::-1])
    np.testing.assert_allclose(one.weight, other.weight, atol=1e-9)
    np.testing.assert_allclose(one.drift_square, other.drift_square, rtol=1e-6)


def test_still_air_makes_a_sortie_sure_and_restless_air_unsure():
    still = [flown_run(i, drift=(0.0, 0.0))[0] for i in range(4)]
    rng = np.random.default_rng(3)
    restless = [flown_run(i, noise=rng.normal(0.0, 1.5, (2, 4)))[0] for i in range(4)]
    alone = weighed(still[:1])
    assert weighed(still).scatter_of(still[0])[0] < 0.7 * alone.scatter_of(still[0])[0]
    assert weighed(restless).scatter_of(still[0])[0] > 3.0 * alone.scatter_of(still[0])[0]


def test_a_wind_that_jumps_is_improbable_and_one_that_drifts_is_not():
    runs = [flown_run(i)[0] for i in range(5)]

    def chance(of, place):
        return chance_of_joining(of, place, SUPPOSED.prior_weight, SUPPOSED.u_wind_drift_mps2)

    assert all(chance(runs, place) > 0.05 for place in range(5))
    jumped = list(runs)
    jumped[2] = replace(runs[2], wind_mps=runs[2].wind_mps + np.array([6.0, 0.0]))
    assert chance(jumped, 2) < 1e-3


def test_another_height_may_have_another_wind():
    low = [flown_run(i)[0] for i in range(4)]
    high, _ = flown_run(4, altitude_m=1500.0)
    high = replace(high, wind_mps=high.wind_mps + np.array([4.0, 0.0]))
    level = replace(high, altitude_m=900.0)

    def chance(run):
        runs = [*low, run]
        return chance_of_joining(runs, 4, SUPPOSED.prior_weight, SUPPOSED.u_wind_drift_mps2)

    assert chance(high) > 10.0 * chance(level)


def test_a_sortie_of_many_runs_is_weighed_in_pieces_alike():
    rng = np.random.default_rng(4)
    runs = [flown_run(i, noise=rng.normal(0.0, 0.3, (2, 4)))[0] for i in range(25)]
    air = weighed(runs)
    assert air.weight.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(air.drift_mps2, DRIFT, atol=0.1 * np.hypot(*DRIFT))
