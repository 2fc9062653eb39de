"""The weight of the aircraft from take-off on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.errors import DataError
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.flight_weight import flight_weight
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduction import FlightDetails
from tests.services.dry_air import DRY

pytestmark = pytest.mark.any_store("opens no store")

FLYING = 20.0  # m/s
T = np.arange(0.0, 3601.0)
TAKEN_OFF = 600


def recorded(airspeed: np.ndarray, flow: np.ndarray | None = None) -> Recorded:
    still = np.zeros_like(T)
    return Recorded(
        source_name="x.csv",
        t_s=T,
        airspeed_mps=airspeed,
        altitude_m=still,
        temperature_k=still + 280.0,
        ground_speed_mps=airspeed,
        track_rad=still,
        relative_humidity=still,
        taken=DRY,
        fuel_flow_kgps=flow,
    )


def flight(airspeed: np.ndarray, flow: np.ndarray | None = None) -> Flight:
    return Flight(
        source_name="x.csv",
        sha256="0" * 64,
        kind="log",
        flown_on=None,
        track_reference="true",
        airspeed_from="indicated_airspeed",
        leg_count=0,
        runs=(),
        manoeuvres=(),
        airspeeds=(),
        steps={},
        warnings=(),
        air=DRY,
        recorded=recorded(airspeed, flow),
    )


FLOWN = np.where(T >= TAKEN_OFF, 50.0, 5.0)
WEIGHED = FlightDetails(airframe=None, takeoff_weight_kg=600.0)


def test_a_constant_rate_counts_from_take_off() -> None:
    weight = flight_weight(flight(FLOWN), replace(WEIGHED, fuel_used_kg_per_h=36.0), FLYING)
    assert weight.at(0.0) == weight.at(TAKEN_OFF) == 600.0
    assert weight.at(TAKEN_OFF + 1000.0) == pytest.approx(590.0)
    assert weight.warnings == ()


def test_the_fuel_flow_of_the_log_is_added_up_and_gaps_in_it_are_bridged() -> None:
    flow = np.where(T >= 1600, 0.01, 0.02)
    flow[100:200] = np.nan  # on the ground, and it must not count anyway
    flow[2000:2100] = np.nan
    weight = flight_weight(flight(FLOWN, flow), WEIGHED, FLYING)
    assert weight.at(1600.0) == pytest.approx(580.0, abs=0.02)
    assert weight.at(3600.0) == pytest.approx(560.0, abs=0.02)
    assert "fuel flow" in weight.notes[0]


def test_a_rate_given_by_hand_counts_more_than_the_log() -> None:
    flow = np.full_like(T, 1.0)
    weight = flight_weight(flight(FLOWN, flow), replace(WEIGHED, fuel_used_kg_per_h=36.0), FLYING)
    assert weight.at(3600.0) == pytest.approx(570.0)


def test_a_fast_taxi_is_no_take_off() -> None:
    airspeed = FLOWN.copy()
    airspeed[100:110] = 25.0
    weight = flight_weight(flight(airspeed), replace(WEIGHED, fuel_used_kg_per_h=36.0), FLYING)
    assert weight.at(TAKEN_OFF) == 600.0


def test_a_missing_airspeed_does_not_end_a_flight() -> None:
    airspeed = FLOWN.copy()
    airspeed[::7] = np.nan
    weight = flight_weight(flight(airspeed), replace(WEIGHED, fuel_used_kg_per_h=36.0), FLYING)
    assert weight.at(TAKEN_OFF + 1000.0) == pytest.approx(590.0, abs=0.1)


@pytest.mark.parametrize("airspeed", [np.full_like(T, 50.0), np.full_like(T, 5.0)])
def test_a_log_without_its_take_off_is_warned_of(airspeed: np.ndarray) -> None:
    weight = flight_weight(flight(airspeed), replace(WEIGHED, fuel_used_kg_per_h=36.0), FLYING)
    assert weight.at(1000.0) == pytest.approx(590.0)
    assert "does not show the take-off" in weight.warnings[0]


def test_without_fuel_flow_and_rate_the_weight_cannot_be_told() -> None:
    for flow in (None, np.full_like(T, np.nan)):
        with pytest.raises(DataError, match="no fuel flow") as raised:
            flight_weight(flight(FLOWN, flow), WEIGHED, FLYING)
        assert "--fuel-used-kg-per-h" in raised.value.hint


def test_legs_written_by_hand_have_no_take_off() -> None:
    sheet = replace(flight(FLOWN), recorded=None)
    with pytest.raises(DataError, match="by hand"):
        flight_weight(sheet, WEIGHED, FLYING)
    assert (
        flight_weight(sheet, FlightDetails(airframe=None, weight_kg=580.0), FLYING).at(None)
        == 580.0
    )
