"""What a sortie to come is supposed to tell, by the sorties that were flown."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.usual_sortie import sortie_information, usual_sortie
from tests.fleet.fleet_maker import fleet_points

SPEEDS = np.array([60.0, 80.0, 100.0, 120.0])
LIFT = (45.0 / SPEEDS) ** 2


def sorties(terms: Array, own: Array | float = 0.004, count: int = 5) -> FleetPoints:
    """So many sorties of one aircraft, all with the same terms (4, terms)."""
    points = fleet_points(
        np.tile(LIFT, count),
        0.0,
        np.tile(np.broadcast_to(own, 4), count),
        np.zeros(4 * count, dtype=int),
        u_shared=np.tile(terms, (count, 1)),
    )
    return FleetPoints(**{**vars(points), "sortie": np.repeat(np.arange(count), 4)})


def test_what_all_points_of_a_sortie_have_in_common_is_found_beside_their_own() -> None:
    points = sorties(np.full((4, 1), 0.003))
    own, shared = usual_sortie(points, np.arange(20)).at(LIFT)
    assert np.linalg.norm(shared, axis=1) == pytest.approx(0.003)
    assert own == pytest.approx(0.004)


def test_a_drift_that_runs_meet_in_the_order_of_their_speeds_goes_with_speed() -> None:
    drift = np.array([[0.003], [0.001], [-0.001], [-0.003]])
    own, shared = usual_sortie(sorties(drift), np.arange(20)).at(LIFT)
    together = shared @ shared.T
    assert together[0, 3] < 0.0 < together[0, 1]
    assert together[0, 3] == pytest.approx(-9e-6, rel=0.35)
    assert np.sum(own**2 + np.diag(together)) == pytest.approx(4 * 0.004**2 + 20e-6, rel=0.2)


def test_a_term_that_draws_runs_apart_whatever_their_speeds_is_no_common_error() -> None:
    terms = np.vstack([np.roll([0.003, 0.001, -0.001, -0.003], k) for k in range(4)])
    points = sorties(terms[0][:, None], count=4)
    mixed = FleetPoints(**{**vars(points), "u_shared": terms.reshape(16, 1)})
    own, shared = usual_sortie(mixed, np.arange(16)).at(LIFT)
    assert shared == pytest.approx(0.0)
    assert np.median(own) == pytest.approx(np.sqrt(0.004**2 + 5e-6), rel=0.02)


def test_uncertainties_known_to_so_many_knots_fall_with_speed_as_kappa() -> None:
    knots = 2.0 / SPEEDS
    points = sorties(0.2 * knots[:, None], own=0.3 * knots)
    own, shared = usual_sortie(points, np.arange(20)).at(LIFT, factor=4.0)
    assert own == pytest.approx(2.0 * 0.3 * knots)
    assert np.linalg.norm(shared, axis=1) == pytest.approx(2.0 * 0.2 * knots)


def test_where_no_sortie_has_two_points_all_that_is_shared_is_taken_as_common() -> None:
    points = sorties(np.full((4, 1), 0.003))
    alone = FleetPoints(**{**vars(points), "sortie": np.arange(20)})
    shared = usual_sortie(alone, np.arange(20)).at(LIFT)[1]
    assert np.linalg.norm(shared, axis=1) == pytest.approx(0.003)


def test_only_the_points_named_count() -> None:
    points = sorties(np.full((4, 1), 0.003), own=np.array([0.004, 0.004, 0.02, 0.02]))
    few = np.flatnonzero(points.u_own < 0.01)
    assert usual_sortie(points, few).at(LIFT)[0] == pytest.approx(0.004)


def test_the_information_is_that_of_the_dense_covariance() -> None:
    own = np.array([0.004, 0.008, 0.006, 0.005])
    shared = np.array([[0.005, 0.004, 0.002, 0.001], [-0.003, 0.0, 0.001, 0.004]]).T
    x = curve_basis(LIFT, 2)
    dense = x.T @ np.linalg.solve(np.diag(own**2) + shared @ shared.T, x)
    assert sortie_information(LIFT[None], 2, own, shared)[0] == pytest.approx(dense, rel=1e-9)
    # a place without a point tells nothing
    empty = np.where(np.arange(4) < 3, own, np.inf)
    less = sortie_information(LIFT[None], 2, empty, shared)[0]
    assert less == pytest.approx(sortie_information(LIFT[None, :3], 2, own[:3], shared[:3])[0])
