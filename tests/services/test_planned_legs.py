"""Headings, tracks and ground speeds of planned legs."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.services.performance.planned_legs import (
    legs_in_wind,
    minutes_needed,
    standard_tas_kt,
)

pytestmark = pytest.mark.any_store("opens no store")


def test_true_airspeed_is_that_of_the_standard_atmosphere() -> None:
    # density ratio at 4000 ft 0.8881, at 10000 ft 0.7385: ICAO Doc 7488; small Mach number
    assert standard_tas_kt(100.0, 4000.0) == pytest.approx(100.0 / 0.8881**0.5, rel=1e-3)
    assert standard_tas_kt(100.0, 10000.0) == pytest.approx(100.0 / 0.7385**0.5, rel=3e-3)


def test_headings_spread_evenly_though_tracks_do_not() -> None:
    legs = legs_in_wind(60.0, 250.0, 36.0)
    assert [leg.heading_deg for leg in legs] == [250.0, 340.0, 70.0, 160.0]
    assert [leg.ground_speed_kt for leg in legs] == pytest.approx([24.0, 69.97, 96.0, 69.97], 1e-3)
    drift = np.degrees(np.arctan2(36.0, 60.0))
    assert legs[1].track_deg == pytest.approx(340.0 + drift - 360.0)
    assert legs[3].track_deg == pytest.approx(160.0 - drift)


def test_a_run_flown_backwards_has_the_same_legs_in_the_opposite_order() -> None:
    forth, back = legs_in_wind(60.0, 250.0, 36.0), legs_in_wind(60.0, 250.0, 36.0, backwards=True)
    assert back == forth[::-1]
    # the turn between the runs is saved, and a steady change of the wind cancels
    middle_s = np.array([0.0, 110.0, 220.0, 330.0]) - 165.0
    moved = [
        np.sum(middle_s * np.exp(1j * np.radians([leg.heading_deg for leg in legs])))
        for legs in (forth, back)
    ]
    assert abs(moved[0]) > 100.0
    assert moved[0] + moved[1] == pytest.approx(0.0, abs=1e-9)


def test_air_and_wind_add_up_to_ground() -> None:
    for leg in legs_in_wind(90.0, 30.0, 20.0):
        heading, track = np.radians([leg.heading_deg, leg.track_deg])
        wind = leg.ground_speed_kt * np.exp(1j * track) - 90.0 * np.exp(1j * heading)
        assert wind == pytest.approx(-20.0 * np.exp(1j * np.radians(30.0)))


def test_in_a_calm_tracks_are_headings() -> None:
    for leg in legs_in_wind(90.0, None, None):
        assert (leg.track_deg, leg.ground_speed_kt) == pytest.approx((leg.heading_deg, 90.0))


def test_a_wind_too_strong_for_the_speed_is_refused() -> None:
    with pytest.raises(ImplausibleError, match="50 kt is too strong"):
        legs_in_wind(65.0, 250.0, 50.0)


def test_four_runs_take_four_times_one_run() -> None:
    assert minutes_needed(4) == pytest.approx(4.0 * (4 * 110.0 + 120.0) / 60.0)
