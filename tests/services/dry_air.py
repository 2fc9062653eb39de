"""Dry air and a probe that feels 80 % of the ram rise, as tests of other subjects take them."""

from __future__ import annotations

from fleetcal.services.flights.air_taken import (
    OPTION,
    SETTINGS,
    AirTaken,
    HumidityTaken,
    TemperatureTaken,
)

DRY = AirTaken(TemperatureTaken(0.8, 0.1, SETTINGS), HumidityTaken(0.0, 0.05, OPTION))
