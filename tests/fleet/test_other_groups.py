"""Groups whose curves nobody asks for, worked out together: the same as one after the other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.averaged import solve_total, total_at_nodes
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.other_groups import evidence_of_groups
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_sums
from fleetcal.fleet.spread_grid import spread_grid
from fleetcal.fleet.sums import AircraftSums, aircraft_sums


def sums_of_fits(seed: int, groups: int, scatter: float = 0.004) -> AircraftSums:
    """Sums of sorties of five points, two to five of them in each fit."""
    rng = np.random.default_rng(seed)
    sorties = rng.integers(2, 6, groups)
    group_of = np.repeat(np.arange(groups), sorties)
    units = len(group_of)
    x = np.tile([0.13, 0.17, 0.22, 0.32, 0.48], (units, 1)) + rng.uniform(0.0, 0.01, (units, 5))
    level = rng.normal(0.0, 0.05, groups)[group_of] + rng.normal(0.0, scatter, units)
    y = level[:, None] + 0.1 * (x - 0.25) + rng.normal(0.0, 0.006, x.shape)
    aircraft = np.repeat(np.arange(units), 5)
    return aircraft_sums(
        FleetPoints(
            x=x.ravel(),
            y=y.ravel(),
            u_own=np.full(x.size, 0.006),
            u_shared=np.full((x.size, 1), 0.004),
            sortie=aircraft,
            aircraft=aircraft,
            group_of=group_of,
        )
    )


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize(("seed", "groups", "phi"), [(1, 3, 1.0), (2, 60, 1.7), (3, 217, 1.0)])
def test_groups_tell_together_what_each_tells_by_itself(
    order: int, seed: int, groups: int, phi: float
) -> None:
    sums = sums_of_fits(seed, groups).with_order(order)
    size = min(order + 1, 2)
    spread = spread_grid(sums, size, phi, 0.004**2 * np.eye(size), likely_alike=True).spread
    total, log_det = total_at_nodes(sums, groups, spread, phi)
    expected = log_det + solve_total(total)[2].sum(axis=1)
    np.testing.assert_allclose(evidence_of_groups(sums, spread, phi), expected, rtol=0.0, atol=1e-8)


@pytest.mark.parametrize("scatter", [0.0, 0.004, 0.02])
def test_a_change_is_the_same_whether_the_other_curves_are_worked_out_or_not(
    scatter: float,
) -> None:
    sums = sums_of_fits(5, 40, scatter).with_order(2)
    every = fit_sums(sums, 40, likely_alike=True)
    some = contrast(replace(every, averaged_groups=2), 0, 1)
    full = contrast(every, 0, 1)
    x = np.linspace(0.13, 0.48, 12)
    assert some.p_value == pytest.approx(full.p_value, rel=1e-9)
    for name in ("centre", "low", "high"):
        found, expected = getattr(some.band(x), name), getattr(full.band(x), name)
        np.testing.assert_allclose(found, expected, rtol=0.0, atol=1e-9 * np.abs(expected).max())


def test_a_fit_of_which_all_curves_are_averaged_has_no_others() -> None:
    sums = sums_of_fits(7, 4).with_order(2)
    every = fit_sums(sums, 4, likely_alike=True)
    some = replace(every, averaged_groups=4)
    np.testing.assert_array_equal(some.averaged.weight, every.averaged.weight)
    np.testing.assert_array_equal(some.averaged.beta, every.averaged.beta)
