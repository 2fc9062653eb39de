"""A point that alone keeps the others from a fit is named, and only one that stands alone."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.standing_out import standing_out


def fleet(off: dict[int, float], u: float = 0.008) -> FleetPoints:
    """Return twelve points of each of four aircraft, numbered from 100; `off` adds to some."""
    rng = np.random.default_rng(3)
    aircraft = np.repeat(np.arange(4), 12)
    count = aircraft.size
    y = rng.normal(0.0, 0.008, count)
    for place, more in off.items():
        y[place] += more
    return FleetPoints(
        x=np.tile(np.linspace(0.1, 0.5, 12), 4),
        y=y,
        u_own=np.full(count, u),
        u_shared=np.zeros((count, 1)),
        sortie=np.arange(count) // 6,
        aircraft=aircraft,
        group_of=np.zeros(4, dtype=np.int64),
        number=np.arange(100, 100 + count),
    )


def test_the_point_that_stands_alone_is_named() -> None:
    points = fleet({17: 1.4})
    assert standing_out(points) == 117
    with pytest.raises(FitError, match=r"scatter .*; point 117 stands farthest off, alone") as told:
        fit_fleet(points)
    assert "reject it" in told.value.hint


def test_nobody_is_named_where_all_points_are_too_sure_of_themselves() -> None:
    points = fleet({}, u=1e-5)
    assert standing_out(points) is None
    with pytest.raises(FitError) as told:
        fit_fleet(points)
    assert "farthest" not in told.value.message


def test_two_points_far_off_are_not_told_apart() -> None:
    assert standing_out(fleet({3: 1.4, 40: -1.2})) is None


def test_points_keep_their_numbers_when_an_aircraft_leaves() -> None:
    assert fleet({}).without_aircraft({0, 2}).number.tolist() == [
        *range(112, 124),
        *range(136, 148),
    ]
