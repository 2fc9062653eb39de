from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from statsmodels.regression.linear_model import GLS

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.few_aircraft import any_port, fit_alone, fit_few, one_more
from fleetcal.fleet.own_curve import Beforehand, OwnPoints, own_curve, own_scatter
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.fleet.spread_prior import SpreadPrior
from tests.fleet.fleet_maker import fleet_points

SPEEDS = np.array([62.0, 70.0, 80.0, 95.0, 110.0, 125.0])
LIFT = (45.0 / SPEEDS) ** 2
AT = (45.0 / np.array([65.0, 85.0, 120.0])) ** 2
#: So weak that only the points count, and a curve that is a quadratic exactly.
VAGUE = PortPrior(level=100.0, tilt=1000.0, bend=10000.0, beyond=1e-9)
SUPPOSED = SpreadPrior(level=0.02, tilt=0.04, level_worth=6.0, tilt_worth=6.0)


def points(seed: int = 1, u: float = 0.008, together: float = 0.004) -> OwnPoints:
    """Two sorties at six speeds, each with an error of its own."""
    rng = np.random.default_rng(seed)
    x = np.tile(LIFT, 2)
    sortie = np.repeat([0, 1], len(LIFT))
    errors = u**2 * np.eye(12) + together**2 * (sortie[:, None] == sortie)
    y = 0.03 + 0.1 * (x - 0.25) + np.linalg.cholesky(errors) @ rng.standard_normal(12)
    return OwnPoints(x=x, y=y, errors=errors, lasting=np.zeros((12, 0)))


def test_points_alone_give_what_generalised_least_squares_of_another_program_gives() -> None:
    own = points()
    band = own_curve(any_port(VAGUE, own.x), own).band(AT)
    other = GLS(own.y, curve_basis(own.x, 2), sigma=own.errors)
    found = other.fit()
    rows = curve_basis(AT, 2)
    covariance = np.linalg.inv(other.wexog.T @ other.wexog)  # the stated errors, not the residuals
    half = stats.norm.ppf(0.975) * np.sqrt(np.einsum("gi,ij,gj->g", rows, covariance, rows))
    centre = rows @ found.params
    assert band.centre == pytest.approx(centre, abs=1e-7)
    assert band.low == pytest.approx(centre - half, abs=1e-6)
    assert band.high == pytest.approx(centre + half, abs=1e-6)


def test_a_curve_joined_with_a_walk_is_the_textbook_prediction_of_all_at_once() -> None:
    prior, own = PortPrior(), points()
    before = any_port(prior, own.x)[2:3]  # one size of the walk
    band = own_curve(before, own).band(AT)
    (walk,) = before[0].departures
    every = np.r_[own.x, AT]
    x, rows = curve_basis(every, 2), walk.rows(every)
    known = x @ np.linalg.inv(prior.information) @ x.T + rows @ walk.covariance @ rows.T
    n = len(own.x)
    gain = known[n:, :n] @ np.linalg.inv(known[:n, :n] + own.errors)
    centre = gain @ own.y
    variance = np.diag(known[n:, n:] - gain @ known[:n, n:])
    assert band.centre == pytest.approx(centre, rel=1e-9)
    assert 0.5 * (band.high - band.low) == pytest.approx(1.959964 * np.sqrt(variance), rel=1e-6)


def test_an_error_that_lasts_widens_the_band_and_moves_nothing() -> None:
    own = points()
    lasting = replace(own, lasting=np.full((12, 1), 0.01))
    before = any_port(VAGUE, own.x)
    without, with_it = (own_curve(before, one).band(AT) for one in (own, lasting))
    assert with_it.centre == pytest.approx(without.centre, abs=1e-12)
    added = (with_it.high - with_it.low) ** 2 - (without.high - without.low) ** 2
    assert np.sqrt(added) / 2.0 == pytest.approx(1.959964 * 0.01, rel=1e-4)


def test_without_points_the_band_is_what_was_known_beforehand() -> None:
    prior = PortPrior()
    none = OwnPoints(
        x=np.zeros(0), y=np.zeros(0), errors=np.zeros((0, 0)), lasting=np.zeros((0, 0))
    )
    band = own_curve(any_port(prior, LIFT), none).band(np.array([0.25]))
    assert band.centre == pytest.approx([0.0])
    # the level, and in quadrature what no quadratic follows, a tenth of it
    assert 0.5 * (band.high - band.low) == pytest.approx(1.959964 * prior.level, rel=0.02)


def test_points_at_one_speed_say_nothing_of_a_speed_far_away() -> None:
    own = points()
    one_speed = OwnPoints(
        x=own.x[[2, 8]],
        y=own.y[[2, 8]],
        errors=own.errors[np.ix_([2, 8], [2, 8])],
        lasting=np.zeros((2, 0)),
    )
    band = own_curve(any_port(PortPrior(), one_speed.x), one_speed).band(LIFT)
    half = 0.5 * (band.high - band.low)
    assert half[2] == half.min()
    assert half[-1] > 5.0 * half[2]


def test_scatter_beyond_what_is_stated_widens_the_band_and_chance_does_not() -> None:
    own = points()
    wild = replace(own, errors=own.errors / 25.0)
    assert own_scatter(own, 2) == 1.0
    assert own_scatter(wild, 2) > 3.0
    assert own_curve(any_port(VAGUE, own.x), wild).scatter == own_scatter(wild, 2)


def fleet(aircraft: int, seed: int = 3):
    rng = np.random.default_rng(seed)
    plane = np.repeat(np.arange(aircraft), len(LIFT))
    lift = np.tile(LIFT, aircraft)
    level = rng.normal(0.0, 0.02, aircraft)[plane]
    kappa = 0.03 + level + 0.1 * (lift - 0.25) + rng.normal(0.0, 0.008, len(lift))
    return fleet_points(lift, kappa, 0.008, plane)


def own_of(fleet_of, number: int) -> OwnPoints:
    rows = np.flatnonzero(fleet_of.aircraft == number)
    return OwnPoints(
        x=fleet_of.x[rows],
        y=fleet_of.y[rows],
        errors=fleet_of.error_covariance(rows),
        lasting=np.zeros((len(rows), 0)),
    )


def test_an_aircraft_of_a_group_without_points_is_known_as_its_next_aircraft() -> None:
    everybody = fleet(8)
    fit = fit_fleet(everybody, 2)
    before = one_more(fit, 0)
    none = OwnPoints(
        x=np.zeros(0), y=np.zeros(0), errors=np.zeros((0, 0)), lasting=np.zeros((0, 0))
    )
    band, following = own_curve(before, none).band(AT), fit.next_band(0, AT)
    assert band.low == pytest.approx(following.low, rel=1e-9)
    assert band.high == pytest.approx(following.high, rel=1e-9)


def test_own_points_that_say_little_leave_an_aircraft_with_its_group() -> None:
    everybody = fleet(8)
    fit = fit_fleet(everybody, 2)
    before = one_more(fit, 0, 0)
    own = own_of(everybody, 0)
    weak = replace(own, errors=1e6 * own.errors)
    nothing = own_curve(before, replace(weak, errors=1e9 * own.errors)).band(AT)
    assert own_curve(before, weak).band(AT).centre == pytest.approx(nothing.centre, abs=1e-4)
    sure = own_curve(before, own).band(AT)
    assert np.all(sure.high - sure.low < 0.6 * (nothing.high - nothing.low))


def test_with_its_group_an_aircraft_is_known_better_than_alone() -> None:
    everybody = fleet(8)
    before = one_more(fit_fleet(everybody, 2), 0, 0)
    own = own_of(everybody, 0)
    joined, alone = (own_curve(one, own).band(AT) for one in (before, any_port(PortPrior(), own.x)))
    assert np.all(joined.high - joined.low < alone.high - alone.low)


@pytest.mark.parametrize("aircraft", [1, 2])
def test_a_group_of_one_or_two_has_wide_bands_that_narrow_with_a_second(aircraft: int) -> None:
    fit = fit_few(fleet(aircraft), SUPPOSED, PortPrior())
    mean, following = fit.mean_band(0, AT), fit.next_band(0, AT)
    assert np.all(following.high - following.low > mean.high - mean.low)
    # one aircraft tells the mean no better than aircraft differ
    assert np.all(0.5 * (mean.high - mean.low) > 1.5 * 0.02 / np.sqrt(aircraft))


def test_a_large_group_is_hardly_moved_by_what_is_supposed_of_ports() -> None:
    everybody = fleet(12)
    few = fit_few(everybody, SUPPOSED, PortPrior()).mean_band(0, AT)
    many = fit_fleet(everybody, 2).mean_band(0, AT)
    assert few.centre == pytest.approx(many.centre, abs=0.002)


def test_others_that_do_not_determine_a_curve_say_nothing_beforehand() -> None:
    everybody = fleet(3)
    keep = (everybody.aircraft == 0) | (np.abs(everybody.x - LIFT[2]) < 1e-9)
    fit = fit_fleet(
        fleet_points(everybody.x[keep], everybody.y[keep], 0.008, everybody.aircraft[keep]),
        2,
    )
    assert one_more(fit, 0, 0) == ()


def test_what_is_known_beforehand_covers_the_port_of_a_certified_four_seat_trainer() -> None:
    # information manual of a certified four-seat trainer, model 172S, section 5, figure 5-1:
    # IAS and CAS, flaps up; its stall speed, 48 kt IAS, as the scaling speed
    ias = np.array([50.0, 60, 70, 80, 90, 100, 110, 120, 130, 140, 150, 160])
    cas = np.array([56.0, 62, 70, 78, 87, 97, 107, 117, 127, 137, 147, 157])
    kappa, x = (cas / ias) ** 2 - 1.0, (48.0 / ias) ** 2
    prior = PortPrior()
    basis = curve_basis(x, 2)
    found = np.linalg.lstsq(basis, kappa)[0]
    sizes = np.abs(found) / [prior.level, prior.tilt, prior.bend]
    assert np.all(sizes < 2.0)
    away_kt = np.abs(kappa - basis @ found) * ias / 2.0
    assert np.sqrt(np.mean(away_kt**2)) < 0.4


def test_nodes_of_the_spread_are_mixed_by_their_weight() -> None:
    own = points()
    alone = any_port(VAGUE, own.x)[0]
    twice = Beforehand(
        weight=np.array([0.25, 0.75]),
        beta=np.repeat(alone.beta, 2, axis=0),
        covariance=np.repeat(alone.covariance, 2, axis=0),
        departures=alone.departures,
    )
    once, mixed = (own_curve([one], own).band(AT) for one in (alone, twice))
    assert mixed.low == pytest.approx(once.low, rel=1e-9)
    assert mixed.high == pytest.approx(once.high, rel=1e-9)


def test_the_size_of_what_no_quadratic_follows_is_learnt_from_the_points() -> None:
    own = points(u=0.002, together=0.0)
    bent = replace(own, y=own.y + 0.02 * np.sign(own.x - LIFT[2] - 0.001))
    before = any_port(PortPrior(), own.x)
    smooth, kinked = (own_curve(before, one).weight for one in (own, bent))
    sizes = np.arange(len(before))
    assert smooth @ sizes < kinked @ sizes - 1.0


def test_an_aircraft_alone_has_the_band_of_generalised_least_squares_and_no_wider() -> None:
    everybody = fleet(1)
    fit = fit_alone(everybody, 2)
    other = GLS(
        everybody.y,
        curve_basis(everybody.x, 2),
        sigma=everybody.error_covariance(np.arange(len(everybody.x))),
    )
    covariance = np.linalg.inv(other.wexog.T @ other.wexog)
    rows = curve_basis(AT, 2)
    half = 1.959964 * np.sqrt(fit.phi * np.einsum("gi,ij,gj->g", rows, covariance, rows))
    for band in (fit.mean_band(0, AT), fit.next_band(0, AT)):
        assert band.centre == pytest.approx(rows @ other.fit().params, abs=1e-9)
        assert 0.5 * (band.high - band.low) == pytest.approx(half, rel=1e-4)


def test_an_aircraft_alone_at_one_speed_has_no_curve_of_a_higher_order() -> None:
    with pytest.raises(FitError, match="do not determine"):
        fit_alone(fleet_points(LIFT[:1].repeat(3), np.zeros(3), 0.008, np.zeros(3, dtype=int)), 1)
