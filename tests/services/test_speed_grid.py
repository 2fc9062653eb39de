"""Airspeeds at which a curve is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fleetcal.services.curves import speed_grid
from fleetcal.services.curves.position_error import gather_points
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import Store
from tests.services.invented_group import TYPE, WING, flown_points


def test_lift_falls_with_the_square_of_speed_and_grows_with_weight() -> None:
    lift = speed_grid.lift_at(TYPE, np.array([45.0, 90.0]), 600.0)
    np.testing.assert_allclose(lift, [1.0, 0.25], rtol=1e-12)
    heavier = speed_grid.lift_at(TYPE, np.array([90.0]), 750.0)
    np.testing.assert_allclose(heavier, [0.3125], rtol=1e-12)


def test_speeds_are_round_and_reach_over_all_that_was_flown(
    described: Store, tmp_path: Path
) -> None:
    flown_points(tmp_path / "p.csv", ["C-02", "C-03", "C-04"])
    import_points(described, tmp_path / "p.csv")
    known, _ = gather_points(described, None, "up", WING)
    # 70 to 120 kt at 540, 550 and 560 kg are 72.5 to 126.5 kt at 600 kg.
    assert speed_grid.speeds_flown(known.rows_of(0), 600.0, 10.0) == tuple(range(70, 131, 10))
    rows = known.rows_of(0)
    slowest = [70.0 * np.sqrt(600.0 / weight) for weight in (540.0, 550.0, 560.0)]
    assert [row.speed_at(600.0) for row in rows[::3]] == pytest.approx(slowest)
    # Within 2.5 kt of somebody's slowest point counts as reached by him.
    assert speed_grid.reached_by(rows, min(slowest) - 2.6, 600.0) == 0
    assert speed_grid.reached_by(rows, max(slowest), 600.0) == 3
    assert speed_grid.reached_by(rows, 100.0, 600.0) == 3
    assert speed_grid.reached_by(rows, 200.0, 600.0) == 0
    # As read it is 70 to 120 kt, whatever the weights.
    assert [speed_grid.flown_by(rows, speed) for speed in (67.4, 67.6, 122.4, 126.0)] == [
        0,
        3,
        3,
        0,
    ]


def test_corrections_have_the_sign_of_kappa_and_the_size_of_the_relations() -> None:
    speeds = np.array([60.0, 100.0, 140.0])
    corrections = speed_grid.speed_correction_kt(speeds, np.full(3, 0.0404))
    # CAS = IAS*sqrt(1 + kappa) in air that does not compress, which takes M^2/4 off the
    # correction: qc = rho*V^2/2*(1 + M^2/4 + ...).
    mach = speeds * 1852.0 / 3600.0 / 340.294
    np.testing.assert_allclose(corrections, 0.02 * speeds * (1.0 - mach**2 / 4.0), rtol=1e-3)
    np.testing.assert_array_equal(speed_grid.speed_correction_kt(speeds, np.zeros(3)), 0.0)
    heights = speed_grid.height_correction_ft(speeds, 0.0, np.full(3, 0.0404))
    # dp = kappa*q with q = rho0*V^2/2; at sea level rho0*g is 12.013 Pa a metre (ISO 2533:1975).
    pressure = 0.0404 * 0.5 * 1.225 * (speeds * 1852.0 / 3600.0) ** 2
    np.testing.assert_allclose(heights, pressure / 12.013 / 0.3048, rtol=0.02)
