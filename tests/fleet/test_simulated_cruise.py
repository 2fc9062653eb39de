"""Figures of cruise on small samples of invented fleets; the whole: tests.fleet.simulations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.services.performance.cruise_runs import cruise_points, power_doubt
from fleetcal.services.performance.cruise_speeds import CruiseAsk, own_cruise, pooled_cruise
from tests.fleet.simulations.cruise import (
    ASKED,
    SCALING_KT,
    CruisePlan,
    cruise_held,
    fly,
    span,
    truth_of,
)

EXACT = CruisePlan(
    drag_spread=0.0, u_power=1e-4, u_reading=1e-4, u_tas=1e-7, u_temperature=1e-7, u_weight=1e-7
)


def own(runs):
    points, doubt = cruise_points(runs, SCALING_KT), power_doubt(runs, SCALING_KT)
    return own_cruise(points, doubt, SCALING_KT)


def test_without_errors_the_speeds_are_those_at_which_power_given_and_needed_meet() -> None:
    runs = fly(EXACT, np.random.default_rng(1))
    points = cruise_points(runs, SCALING_KT)
    curve = pooled_cruise(fit_fleet(points, 1), 0, SCALING_KT, span(runs))
    alone = own(fly(replace(EXACT, aircraft=1), np.random.default_rng(1)))
    for ask in ASKED:
        assert curve.speed(ask).tas_kt == pytest.approx(truth_of(ask), abs=0.01)
        assert alone.speed(ask).tas_kt == pytest.approx(truth_of(ask), abs=0.01)


@pytest.mark.long
def test_the_band_of_one_airframe_holds_the_truth_as_often_as_it_says() -> None:
    plan = CruisePlan(aircraft=1, sorties=3, drag_spread=0.0)
    told = np.array([cruise_held(plan, None, seed) for seed in range(600)])
    share = told[:, :3].sum(axis=0) / told[:, 3:].sum(axis=0)
    assert np.all(told[:, 3:].mean(axis=0) > 0.9)
    assert np.all((share > 0.92) & (share < 0.98))  # Monte Carlo error 0.9 %


@pytest.mark.long
def test_the_band_of_a_pairing_holds_the_truth_in_a_few_fleets() -> None:
    told = np.array([cruise_held(CruisePlan(aircraft=8), 1, seed) for seed in range(12)])
    assert told[:, :3].mean() > 0.8
    assert told[:, 3:].mean() > 0.9


def test_a_speed_that_was_not_flown_is_not_told_but_explained() -> None:
    curve = own(fly(CruisePlan(aircraft=1), np.random.default_rng(2)))
    slow, fast = curve.speed(CruiseAsk(30.0, 0.0, 1.0)), curve.speed(CruiseAsk(120.0, 0.0, 1.0))
    assert np.isnan([slow.tas_kt, slow.mean_low_kt, fast.tas_kt]).all()
    assert "slower than VIW" in slow.why
    assert "faster than VIW" in fast.why


def test_runs_at_one_speed_make_no_curve_of_one_airframe() -> None:
    runs = fly(CruisePlan(aircraft=1, runs=2), np.random.default_rng(2))
    with pytest.raises(FitError, match="2 runs at these speeds"):
        own(runs)
