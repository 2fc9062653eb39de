"""A change held against what all tell, less what its airframe tells: as if it were fitted alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.other_groups import evidence_apart, evidence_of_groups
from fleetcal.fleet.points import Index
from fleetcal.fleet.pooled import PooledFit, fit_sums
from fleetcal.fleet.shared_pool import SharedPool
from fleetcal.fleet.sums import AircraftSums, joined_sums
from tests.fleet.test_other_groups import sums_of_fits

SPEEDS = np.linspace(0.13, 0.48, 12)


def groups_of(sums: AircraftSums, groups: list[int]) -> AircraftSums:
    """Some groups, numbered from 0."""
    some = sums.select(np.flatnonzero(np.isin(sums.group_of, groups)))
    return replace(some, group_of=np.searchsorted(groups, some.group_of))


def by_itself(sums: AircraftSums, sides: AircraftSums, leaving: Index) -> PooledFit:
    """The sides fitted with the other groups, and with nothing of other changes."""
    kept = [g for g in range(sums.group_of.max() + 1) if g not in leaving]
    rest = groups_of(sums, kept)
    first = int(sides.group_of.max()) + 1
    rest = replace(rest, group_of=rest.group_of + first)
    together = joined_sums([sides, rest])
    return fit_sums(together, first + len(kept), likely_alike=True, averaged_groups=first)


def flown_once(sides: AircraftSums) -> AircraftSums:
    """The sides, of the second of which one sortie was flown."""
    second = np.flatnonzero(sides.group_of == 1)[1:]
    return sides.select(np.setdiff1d(np.arange(len(sides.count)), second))


def assert_alike(fit: PooledFit, alone: PooledFit, apart: float) -> None:
    """Hold the change of two fits against each other, by parts of its band."""
    assert fit.phi == pytest.approx(alone.phi, rel=max(apart, 1e-4))
    one, other = contrast(fit, 0, 1), contrast(alone, 0, 1)
    assert one.p_value == pytest.approx(other.p_value, rel=0.0, abs=apart)  # shown to 0.001
    band, expected = one.band(SPEEDS), other.band(SPEEDS)
    size = apart * (expected.high - expected.low).max()
    for name in ("low", "high"):
        found = getattr(band, name)
        np.testing.assert_allclose(found, getattr(expected, name), rtol=0.0, atol=size)


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("scatter", [0.0, 0.004, 0.02])
def test_sides_that_are_in_the_pool_are_fitted_as_by_themselves(order: int, scatter: float) -> None:
    sums = sums_of_fits(5, 40, scatter).with_order(order)
    sides, leaving = groups_of(sums, [3, 4]), np.array([3, 4])
    shared = SharedPool(sums).fit(sides, leaving)
    assert shared is not None
    assert_alike(shared, by_itself(sums, sides, leaving), 1e-5)


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("scatter", [0.004, 0.02])
def test_fits_that_are_not_asked_for_go_and_sides_of_one_sortie_come(
    order: int, scatter: float
) -> None:
    sums = sums_of_fits(11, 60, scatter).with_order(order)
    pool, shared = SharedPool(sums), 0
    for first in (0, 10, 20, 30, 40, 50):
        leaving = np.arange(first, first + 3)  # an earlier fit too
        sides = flown_once(groups_of(sums, [first + 1, first + 2]))
        fit = pool.fit(sides, leaving)
        if fit is not None:
            shared += 1
            assert_alike(fit, by_itself(sums, sides, leaving), 1e-4)
    assert shared >= 3


def test_what_others_tell_is_what_all_tell_less_the_own() -> None:
    sums = sums_of_fits(3, 217).with_order(2)
    leaving = np.array([5, 6, 7])
    fit = SharedPool(sums).fit(groups_of(sums, [6, 7]), leaving)
    assert fit is not None
    assert fit.learnt is not None
    rest = groups_of(sums, [g for g in range(217) if g not in leaving])
    expected = evidence_of_groups(rest, fit.learnt.grid.spread, fit.phi)
    np.testing.assert_allclose(fit.learnt.evidence, expected, rtol=1e-12, atol=1e-9)


def test_the_parts_of_a_likelihood_hold_at_every_factor() -> None:
    sums = sums_of_fits(3, 12).with_order(1)
    spread = np.array([[[1e-5, 2e-6], [2e-6, 4e-5]], [[0.0, 0.0], [0.0, 0.0]]])
    logs, misfit = evidence_apart(sums, spread / 1.7)
    free = sums.count.sum() - 12 * 2
    expected = evidence_of_groups(sums, spread, 1.7)
    np.testing.assert_allclose(logs + free * np.log(1.7) + misfit / 1.7, expected, rtol=1e-12)


def test_an_airframe_that_tells_most_of_the_spread_is_fitted_by_itself() -> None:
    sums = sums_of_fits(2, 8, 0.001).with_order(1)
    wild = sums.products.copy()
    own = np.flatnonzero(sums.group_of < 2)
    wild[own, :, -1] *= np.linspace(-9.0, 9.0, len(own))[:, None]
    wild[own, -1, :] *= np.linspace(-9.0, 9.0, len(own))[:, None]
    sums = replace(sums, products=wild)
    assert SharedPool(sums).fit(groups_of(sums, [2, 3]), np.array([0, 1, 2, 3])) is None


def test_a_pool_of_no_fits_tells_nothing() -> None:
    sums = sums_of_fits(2, 2).with_order(1)
    none = sums.select(np.zeros(0, dtype=np.int64))
    assert SharedPool(none).fit(sums, np.zeros(0, dtype=np.int64)) is None


def test_sides_at_one_speed_are_refused_by_a_pool_too() -> None:
    sums = sums_of_fits(2, 20).with_order(1)
    sides = groups_of(sums, [0, 1])
    flat = sides.products.copy()
    flat[:, 1, :] = 0.2 * flat[:, 0, :]
    flat[:, :, 1] = 0.2 * flat[:, :, 0]
    flat[:, 1, 1] = 0.04 * flat[:, 0, 0]
    with pytest.raises(FitError, match="do not determine"):
        SharedPool(sums).fit(replace(sides, products=flat), np.array([0, 1]))
