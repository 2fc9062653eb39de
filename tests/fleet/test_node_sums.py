"""Sums at many D in a few matrix products, against one D at a time."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.averaged import total_at_nodes, weigh_at_nodes
from fleetcal.fleet.likelihood import departure_columns, lower_triangle, weigh
from fleetcal.fleet.points import Array
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.fleet_maker import random_points

POINTS = random_points(91, (7, 1, 4, 5, 2, 9), group_of=(0, 1, 1, 0, 0, 1), terms=2)


def _roots(size: int) -> list[Array]:
    """Return L that are random, huge, of rank one, and nothing at all."""
    rng = np.random.default_rng(92)
    entries = size * (size + 1) // 2
    full = [lower_triangle(rng.normal(0.0, scale, entries), size) for scale in (0.01, 0.1, 30.0)]
    lame = lower_triangle(np.r_[0.02, np.zeros(entries - 1)], size)
    return [*full, lame, np.zeros((size, size))]


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("phi", [1.0, 2.6])
def test_totals_at_many_spreads_are_those_of_one_at_a_time(order: int, phi: float) -> None:
    sums = aircraft_sums(POINTS).with_order(order)
    roots = _roots(departure_columns(order))
    spread = np.array([root @ root.T for root in roots])
    total, log_det = total_at_nodes(sums, 2, spread, phi)
    for node, root in enumerate(roots):
        weighted, own_log_det = weigh(sums, root, phi)
        assert log_det[node] == pytest.approx(own_log_det.sum(), rel=1e-10)
        for group in (0, 1):
            expected = weighted[sums.group_of == group].sum(axis=0)
            scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
            np.testing.assert_allclose(total[node, group] / scale, expected / scale, atol=1e-8)


@pytest.mark.parametrize("order", [0, 1, 2])
def test_totals_are_the_sums_of_what_is_taken_away_one_by_one(order: int) -> None:
    sums = aircraft_sums(POINTS).with_order(order)
    spread = np.array([root @ root.T for root in _roots(departure_columns(order))])
    total, log_det = total_at_nodes(sums, 2, spread, 1.3)
    weighted, own_log_det = weigh_at_nodes(sums, spread, 1.3)
    np.testing.assert_allclose(log_det, own_log_det.sum(axis=1), rtol=1e-12)
    for group in (0, 1):
        expected = weighted[:, sums.group_of == group].sum(axis=1)
        size = np.sqrt(np.einsum("nii->ni", expected))
        scale = size[:, :, None] * size[:, None, :]
        np.testing.assert_allclose(total[:, group] / scale, expected / scale, atol=1e-11)


def test_aircraft_in_blocks_have_the_same_totals(monkeypatch: pytest.MonkeyPatch) -> None:
    sums = aircraft_sums(POINTS).with_order(2)
    spread = np.array([root @ root.T for root in _roots(2)])
    whole = total_at_nodes(sums, 2, spread, 1.0)
    monkeypatch.setattr("fleetcal.fleet.averaged._CHUNK_BYTES", 1)  # one aircraft a block
    for one, other in zip(total_at_nodes(sums, 2, spread, 1.0), whole, strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-9)
