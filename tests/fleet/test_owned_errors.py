"""Errors that an aircraft or the whole fleet owns: what they widen, and what they leave alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.common_errors import common_shifts
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.spread_grid import spread_grid
from fleetcal.fleet.standing import all_standings

LIFT = np.array([0.12, 0.2, 0.3, 0.5])


def fleet(groups: int = 1, u_fleet: float = 0.0, u_airframe: float = 0.0) -> FleetPoints:
    """Six aircraft a group, two sorties each, with errors of points and sorties."""
    rng = np.random.default_rng(7)
    aircraft = np.repeat(np.arange(6 * groups), 8)
    sortie = np.repeat(np.arange(12 * groups), 4)
    lift = np.tile(LIFT, 12 * groups) + rng.uniform(-0.01, 0.01, len(sortie))
    kappa = (
        0.03
        + 0.05 * lift
        + rng.normal(0.0, 0.02, 6 * groups)[aircraft]
        + rng.normal(0.0, 0.006, 12 * groups)[sortie]
        + rng.normal(0.0, 0.01, len(lift))
    )
    size = len(lift)
    return FleetPoints(
        x=lift,
        y=kappa,
        u_own=np.full(size, 0.01),
        u_shared=np.full((size, 1), 0.006),
        sortie=sortie,
        aircraft=aircraft,
        group_of=np.repeat(np.arange(groups), 6),
        u_airframe=np.full((size, 1), u_airframe),
        u_fleet=(u_fleet * (1.0 + lift))[:, None],
    )


def test_an_error_common_to_all_shifts_the_curve_as_if_it_were_there() -> None:
    points = fleet(u_fleet=0.02)
    fit, _ = fit_checked(points, 1)
    moved = fit_fleet(replace(points, y=points.y + points.u_fleet[:, 0]), 1)
    # the spread does not see it, so the map is the same to the search's own tolerance
    expected = moved.beta - fit_fleet(points, 1).beta
    assert common_shifts(points, fit)[0, 0] == pytest.approx(expected[0], rel=1e-3)


def test_an_error_common_to_all_widens_mean_and_next_bands_by_itself_in_squares() -> None:
    plain, _ = fit_checked(fleet(), 1)
    wide, _ = fit_checked(fleet(u_fleet=0.05), 1)
    shift = curve_basis(LIFT, 1) @ wide.common_shift(0).T
    for band in ("mean_band", "next_band"):
        narrow, broad = getattr(plain, band)(0, LIFT), getattr(wide, band)(0, LIFT)
        assert np.all(broad.high - broad.low > narrow.high - narrow.low)
        assert np.all(broad.high - broad.low < narrow.high - narrow.low + 4.5 * shift[:, 0])
    variance = wide.mean_covariance(0) - plain.mean_covariance(0)
    one = wide.common_shift(0)
    assert variance[0] == pytest.approx(one.T @ one, rel=1e-9)


def test_an_error_common_to_all_is_no_departure_and_falls_out_of_a_difference() -> None:
    plain, wide = fleet(2), fleet(2, u_fleet=0.05)
    before, after = fit_checked(plain, 1)[0], fit_checked(wide, 1)[0]
    for one, other in zip(all_standings(plain, before), all_standings(wide, after), strict=True):
        assert one.p_value == other.p_value
        assert np.array_equal(one.covariance, other.covariance)
    told, wider = contrast(before, 0, 1), contrast(after, 0, 1)
    added = wider.covariance - told.covariance
    assert np.abs(added).max() < 0.01 * np.abs(told.covariance).max()
    assert wider.p_value == pytest.approx(told.p_value, rel=0.01)


def test_what_an_indicator_may_be_wrong_by_leaves_curve_bands_and_verdicts_alone() -> None:
    plain, tolerant = fleet(), fleet(u_airframe=0.04)
    one, other = fit_fleet(plain, 1), fit_fleet(tolerant, 1)
    assert np.array_equal(one.beta, other.beta)
    assert np.array_equal(one.mean_band(0, LIFT).low, other.mean_band(0, LIFT).low)
    assert [s.p_value for s in all_standings(plain, one)] == [
        s.p_value for s in all_standings(tolerant, other)
    ]


def test_terms_of_owners_go_with_the_points_that_are_kept() -> None:
    points = fleet(u_fleet=0.02, u_airframe=0.03).without_aircraft({0, 3})
    assert points.u_airframe.shape == points.u_fleet.shape == (32, 1)


def test_the_grid_reaches_aircraft_whose_level_and_tilt_are_one_and_the_same() -> None:
    # One error, of a power display say, makes both: their correlation is 1.
    rng = np.random.default_rng(3)
    points = fleet()
    own = rng.normal(0.0, 0.03, 6)[points.aircraft]
    fit = fit_fleet(replace(points, y=points.y + own * (1.0 + 3.0 * points.x)), 1)
    spread = spread_grid(fit.sums, 2, fit.phi, fit.spread).spread
    variances = spread[:, 0, 0] * spread[:, 1, 1]
    some = variances > 0.0
    correlation = spread[some, 0, 1] / np.sqrt(variances[some])
    assert correlation.max() == pytest.approx(0.99)
    assert len(np.unique(np.round(correlation, 6))) == 5  # no more nodes than before


def test_the_prior_of_the_correlation_is_even_from_minus_one_to_one() -> None:
    fit = fit_fleet(fleet(), 1)
    grid = spread_grid(fit.sums, 2, fit.phi, fit.spread)
    level, tilt = grid.spread[:, 0, 0], grid.spread[:, 1, 1]
    pair = (level > 0.0) & (tilt > 0.0)
    first = pair & (level == level[pair][0]) & (tilt == tilt[pair][0])
    correlation = grid.spread[first, 0, 1] / np.sqrt(level[first] * tilt[first])
    share = np.exp(grid.log_prior[first] - np.logaddexp.reduce(grid.log_prior[first]))
    assert len(share) == 5
    moments = [float(share @ correlation**power) for power in range(1, 5)]
    # those of an even prior are 0, 1/3, 0, 1/5; the ends are drawn in by 0.01
    assert moments == pytest.approx([0.0, 1.0 / 3.0, 0.0, 1.0 / 5.0], abs=0.005)
