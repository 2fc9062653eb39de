"""What is given of a flight outside its log, held against its limits and against itself."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from fleetcal.errors import DataError
from fleetcal.services.flights.air_taken import StatedAir, stated_air
from fleetcal.services.flights.reduction import SOLVED_BY, FlightDetails
from fleetcal.services.units_shown import setting_hpa
from fleetcal.verbs.checked import not_both, one_of, within

WEIGHT_KG: Final = (1.0, 100000.0)
_AIRSPEEDS: Final = ("indicated_airspeed", "impact_pressure", "true_airspeed")


def given_air(
    *,
    temperature_shows: str | None,
    recovery_factor: float | None,
    humidity_pct: float | None,
    dew_point_degc: float | None,
    oat_degc: float | None,
    altimeter_setting: float | None,
) -> StatedAir:
    """Return what is said of the air, checked.

    Raises:
        DataError: If a value is outside its limits, or two contradict each other.
    """
    one_of("temperature_shows", temperature_shows, ("ambient", "probe"))
    not_both("humidity_pct", "dew_point_degc", (humidity_pct, dew_point_degc))
    if temperature_shows == "ambient":
        not_both("recovery_factor", "temperature_shows='ambient'", (recovery_factor, True))
    setting = None
    if altimeter_setting is not None:
        setting = setting_hpa(altimeter_setting, "")
        if setting is None:
            raise DataError(
                f"altimeter_setting={altimeter_setting!r} is no altimeter setting",
                "give hPa, such as 1013, or inches of mercury, such as 29.92",
            )
    return stated_air(
        temperature_shows=temperature_shows,
        recovery_factor=within("recovery_factor", recovery_factor, 0.0, 1.0),
        humidity_pct=within("humidity_pct", humidity_pct, 0.0, 100.0),
        dew_point_degc=within("dew_point_degc", dew_point_degc, -80.0, 40.0),
        oat_degc=within("oat_degc", oat_degc, -60.0, 60.0),
        altimeter_setting=setting,
    )


def checked_flight(flight: FlightDetails) -> FlightDetails:
    """Return details of a flight; refuse any outside its limits, and contradictions.

    Raises:
        DataError: If so.
    """
    found = replace(
        flight,
        weight_kg=within("weight_kg", flight.weight_kg, *WEIGHT_KG),
        takeoff_weight_kg=within("takeoff_weight_kg", flight.takeoff_weight_kg, *WEIGHT_KG),
        fuel_used_kg_per_h=within("fuel_used_kg_per_h", flight.fuel_used_kg_per_h, 0.0, 10000.0),
        declination_deg=within("declination_deg", flight.declination_deg, -180.0, 180.0),
    )
    one_of("airspeed_from", flight.airspeed_from, _AIRSPEEDS)
    one_of("heading", flight.heading, ("ignored", "used"))
    one_of("solve_by", flight.solve_by, tuple(SOLVED_BY))
    not_both("weight_kg", "takeoff_weight_kg", (flight.weight_kg, flight.takeoff_weight_kg))
    if flight.fuel_used_kg_per_h is not None and flight.takeoff_weight_kg is None:
        raise DataError(
            "fuel_used_kg_per_h is taken off a weight that is not given", "give takeoff_weight_kg"
        )
    choices = flight.choices
    by_number = choices.drop or choices.keep
    not_both("legs", "drop or keep", (choices.leg_list, by_number))
    if flight.solve_by != "legs" and choices.any:
        raise DataError(
            f"drop, keep and legs choose between legs, and solve_by={flight.solve_by!r} has none",
            "leave them out",
        )
    return found
