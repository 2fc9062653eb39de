"""A curve that misses its points is doubted when an aircraft is held against it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.model_checks import check_groups
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.standing import all_standings

LIFT = np.array([0.12, 0.16, 0.22, 0.3, 0.42, 0.55])


def fleet(bend: float) -> FleetPoints:
    """Ten aircraft, each flown at six speeds once."""
    rng = np.random.default_rng(11)
    aircraft = np.repeat(np.arange(10), len(LIFT))
    lift = np.tile(LIFT, 10)
    t = lift - 0.25
    kappa = 0.03 + 0.06 * t + bend * t**2 + rng.normal(0.0, 0.02, 10)[aircraft]
    kappa += rng.normal(0.0, 0.004, len(lift))
    size = len(lift)
    return FleetPoints(
        x=lift,
        y=kappa,
        u_own=np.full(size, 0.004),
        u_shared=np.zeros((size, 0)),
        sortie=aircraft,
        aircraft=aircraft,
        group_of=np.zeros(10, dtype=np.int64),
    )


def test_a_bend_that_the_curve_cannot_follow_widens_departures_and_their_chances() -> None:
    points = fleet(bend=1.0)
    (check,) = check_groups(points, fit_fleet(points, 1))
    assert check.misfit.deviation > 0.002
    verdicts = judge_fleet(points, 0.05, 1)
    assert verdicts.fit.bends == pytest.approx([check.misfit.deviation**2])
    sure = all_standings(points, fit_fleet(points, 1), verdicts.suspects)
    for one, other in zip(verdicts.standings, sure, strict=True):
        widened = one.covariance[0, 0] - other.covariance[0, 0]
        assert widened == pytest.approx(check.misfit.deviation**2, rel=1e-6)
        assert one.p_value > other.p_value


def test_a_curve_that_fits_is_not_doubted() -> None:
    points = fleet(bend=0.0)
    verdicts = judge_fleet(points, 0.05, 1)
    assert verdicts.fit.bends == pytest.approx([0.0])
    plain = all_standings(points, replace(verdicts.fit, bends=None), verdicts.suspects)
    assert [s.p_value for s in verdicts.standings] == [s.p_value for s in plain]
