"""Groups that are two clusters are named, and others are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.clusters import LEVEL, _best_split, two_clusters
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.simulations.invented_fleet import KAPPA_PER_KT, Plan, draw


def sums_of(plan, seed):
    return aircraft_sums(draw(plan, np.random.default_rng(seed))).with_order(2)


def test_two_clusters_far_apart_are_named_with_their_airframes():
    plan = Plan(aircraft=12, groups=2, offsets_kt=(8.0,) * 4)
    (found,) = two_clusters(sums_of(plan, 1))
    assert (found.group, set(found.high)) == (0, {0, 1, 2, 3})
    assert set(found.low) == set(range(4, 12))
    assert found.apart == pytest.approx(8.0 * KAPPA_PER_KT, abs=2.5 * KAPPA_PER_KT)
    assert found.p_value < LEVEL


@pytest.mark.parametrize("aircraft", [6, 10, 30])
def test_one_cluster_is_seldom_called_two(aircraft):
    fleets = 100
    called = sum(bool(two_clusters(sums_of(Plan(aircraft=aircraft), s))) for s in range(fleets))
    assert called <= 11  # 5 expected, more than 11 in one of 200 runs


def test_one_odd_aircraft_is_no_cluster():
    plan = Plan(aircraft=10, offsets_kt=(12.0,))
    assert sum(bool(two_clusters(sums_of(plan, s))) for s in range(40)) <= 3


def test_groups_are_looked_at_each_for_itself_and_small_ones_not_at_all():
    assert two_clusters(sums_of(Plan(aircraft=5, offsets_kt=(9.0,) * 2), 2)) == ()
    apart = sums_of(Plan(aircraft=8, groups=2, offsets_kt=(9.0,) * 8), 3)
    assert two_clusters(apart) == ()  # the groups differ, which is no cluster in either


def test_neither_scale_nor_middle_matters():
    sums = sums_of(Plan(aircraft=12, offsets_kt=(7.0,) * 5), 4)
    products = sums.products.copy()
    products[:, -1] *= 3.0
    products[:, :, -1] *= 3.0
    (one,), (other,) = two_clusters(sums), two_clusters(replace(sums, products=products))
    assert other.p_value == one.p_value
    assert other.apart == pytest.approx(3.0 * one.apart)


def test_the_best_split_is_the_best_of_all():
    values = np.sort(np.random.default_rng(5).standard_normal((20, 9)), axis=1)
    gain, size = _best_split(values)
    for row, best, at in zip(values, gain, size, strict=True):
        tried = {
            k: row.var() * 9.0 / (row[:k].var() * k + row[k:].var() * (9 - k)) for k in range(3, 7)
        }
        assert best == pytest.approx(max(tried.values()))
        assert at == max(tried, key=lambda k: tried[k])
