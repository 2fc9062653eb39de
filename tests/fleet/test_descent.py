"""The search for the lowest point, held against a library's."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import optimize

from fleetcal.fleet import pooled
from fleetcal.fleet.descent import Function, lowest_point
from fleetcal.fleet.points import Array
from fleetcal.fleet.pooled import fit_sums
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.fleet_maker import level_fleet, random_points

SPARE_NONE = "no point to spare"
FLEETS = {
    **{f"random {seed}": random_points(seed, (3, 5, 4, 6, 3)) for seed in range(12)},
    **{f"two groups {seed}": random_points(seed, (4,) * 8, (0, 1) * 4) for seed in range(6)},
    "alike": level_fleet(3, aircraft=6, points=5, spread=0.0),
    "far apart": level_fleet(4, aircraft=6, points=5, spread=0.3),
    "understated": level_fleet(5, aircraft=5, points=6, u=0.03),
    "overstated": level_fleet(6, aircraft=5, points=6, spread=0.0, u=0.001),
    SPARE_NONE: level_fleet(7, aircraft=8, points=1),
}


def by_library(
    function: Function, start: Array, low: Array, high: Array, *, smallest_gain: float
) -> Array:
    """Do the same by quasi-Newton steps of another program's."""
    bounds = list(zip(low, high, strict=True))
    found: Any = optimize.minimize(
        function, start, method="L-BFGS-B", jac=True, bounds=bounds, tol=smallest_gain
    )
    return np.asarray(found.x)


# one point of each aircraft carries no tilt
FITS = [(name, order) for name in FLEETS for order in (0, 1) if (name, order) != (SPARE_NONE, 1)]


@pytest.mark.parametrize(("name", "order"), FITS)
def test_fleets_are_fitted_as_a_library_fits_them(
    name: str, order: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    points = FLEETS[name]
    sums = aircraft_sums(points).with_order(order)
    ours = fit_sums(sums, points.groups)
    monkeypatch.setattr(pooled, "lowest_point", by_library)
    theirs = fit_sums(sums, points.groups)
    assert ours.solved.deviance <= theirs.solved.deviance + 1e-8
    if ours.solved.deviance > theirs.solved.deviance - 1e-8:  # the same point, none better
        assert ours.spread == pytest.approx(theirs.spread, rel=1e-3, abs=1e-9)
        assert ours.phi == pytest.approx(theirs.phi, rel=1e-5)
        np.testing.assert_allclose(ours.beta, theirs.beta, rtol=1e-5, atol=1e-7)


def banana(point: Array) -> tuple[float, Array]:
    """H. H. Rosenbrock's valley, The Computer Journal 3 (1960): lowest at (1, 1)."""
    x, y = point
    slope = [-400.0 * x * (y - x * x) - 2.0 * (1.0 - x), 200.0 * (y - x * x)]
    return float(100.0 * (y - x * x) ** 2 + (1.0 - x) ** 2), np.array(slope)


def test_a_winding_valley_is_followed_to_its_end() -> None:
    free = np.full(2, np.inf)
    found = lowest_point(banana, np.array([-1.2, 1.0]), -free, free, smallest_gain=1e-14)
    np.testing.assert_allclose(found, [1.0, 1.0], atol=1e-5)


def test_a_bound_holds_and_is_left_where_that_goes_down() -> None:
    low, high = np.array([-np.inf, -np.inf]), np.array([0.5, np.inf])
    at_bound = lowest_point(banana, np.array([-1.2, 1.0]), low, high, smallest_gain=1e-14)
    np.testing.assert_allclose(at_bound, [0.5, 0.25], atol=1e-6)
    from_bound = lowest_point(
        banana,
        np.array([2.0, 4.0]),
        np.array([-3.0, -3.0]),
        np.array([2.0, 4.0]),
        smallest_gain=1e-14,
    )
    np.testing.assert_allclose(from_bound, [1.0, 1.0], atol=1e-5)
    shut = np.array([0.25])
    assert (
        lowest_point(lambda x: (float(x[0]), np.ones(1)), shut, shut, shut, smallest_gain=0) == shut
    )


def test_a_value_that_is_no_number_is_stepped_back_from() -> None:
    def steep(point: Array) -> tuple[float, Array]:
        with np.errstate(invalid="ignore", divide="ignore"):
            return float(point[0] - np.log(point[0])), np.array([1.0 - 1.0 / point[0]])

    free = np.full(1, np.inf)
    found = lowest_point(steep, np.array([0.2]), -free, free, smallest_gain=1e-14)
    assert found == pytest.approx([1.0], abs=1e-6)
