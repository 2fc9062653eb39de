"""No order is chosen whose curve would depend on one aircraft alone."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.search import determined_without_each
from fleetcal.fleet.sums import aircraft_sums
from tests.fleet.fleet_maker import fleet_points


@pytest.mark.parametrize("u", [1e-3, 0.004, 0.02])
@pytest.mark.parametrize("seed", range(8))
def test_no_order_is_chosen_for_what_one_aircraft_alone_flew(seed: int, u: float) -> None:
    rng = np.random.default_rng(seed)
    lifts = np.r_[np.full(8, 0.21), 0.12, 0.3, 0.45]  # the last aircraft flew three more
    owner = np.r_[np.repeat(np.arange(4), 2), 4, 4, 4]
    kappa = 0.03 + 0.05 * lifts + rng.normal(0.0, 0.004, len(lifts))
    points = fleet_points(lifts, kappa, np.r_[np.full(8, 0.004), np.full(3, u)], owner)

    assert fit_fleet(points).order == 0
    line = aircraft_sums(points).with_order(1)
    assert determined_without_each(line, 1).tolist() == [True] * 4 + [False]


def test_two_that_flew_other_speeds_determine_a_line_for_each_other() -> None:
    lifts = np.r_[np.full(6, 0.21), 0.12, 0.3, 0.12, 0.3]
    points = fleet_points(lifts, 0.03, 0.004, np.r_[np.repeat(np.arange(3), 2), 3, 3, 4, 4])
    assert determined_without_each(aircraft_sums(points).with_order(1), 1).all()
