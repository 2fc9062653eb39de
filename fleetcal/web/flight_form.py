"""The form of one flight: what it shows, and what it says of the flight."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from fleetcal.errors import DataError
from fleetcal.services.chosen_store import Store
from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import show_airframe
from fleetcal.services.fleet.describe_fleet import show_fleet
from fleetcal.services.fleet.new_airframe import refuse_bad_tag
from fleetcal.services.flights.air_taken import stated_air
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.web.form_fields import Fields, day, number, one_of, text

#: Stands for an aircraft that is not in the store.
NEW: Final = "+new"
_SOLVED: Final = {
    "legs": "straight legs",
    "manoeuvres": "steady turns and boxes",
    "flight": "the entire flight, without legs",
}
_AIRSPEEDS: Final = {
    "": "what the log says best",
    "indicated_airspeed": "indicated airspeed",
    "impact_pressure": "impact pressure",
    "true_airspeed": "true airspeed",
}
_TEMPERATURES: Final = {
    "": "what stands with the aircraft",
    "ambient": "outside temperature",
    "probe": "what its probe feels",
}
#: Fields as they are before anybody wrote in them.
BLANK: Final[dict[str, str]] = {
    **dict.fromkeys(
        (
            *("airframe", "weight_kg", "takeoff_weight_kg", "fuel_used_kg_per_h", "flown_on"),
            *("note", "airspeed_from", "temperature_shows", "oat_degc", "altimeter_setting"),
            *("declination_deg", "keep_log", "new_tag", "new_type", "new_static_source"),
            *("new_engine", "new_propeller", "new_weight_kg"),
        ),
        "",
    ),
    "solve_by": "legs",
    "flap_setting": "up",
}


def written(form: Fields) -> dict[str, str]:
    """Return the fields of a form as they were written; one that is missing is blank."""
    return {name: form.get(name, "") for name in BLANK}


def airframe_list(store: Store) -> list[tuple[str, str]]:
    """Return the aircraft that may have flown: value and words."""
    tags = sorted({line.airframe for line in show_fleet(store).fits})
    return [("", "none: only look"), *((tag, tag) for tag in tags), (NEW, "a new aircraft")]


def lists(store: Store) -> dict[str, list[tuple[str, str]]]:
    """Return the choices of the form, by field: value and words."""
    return {
        "airframe": airframe_list(store),
        "solve_by": list(_SOLVED.items()),
        "airspeed_from": list(_AIRSPEEDS.items()),
        "temperature_shows": list(_TEMPERATURES.items()),
    }


def details_of(fields: Fields, mapping: Path | None) -> FlightDetails:
    """Return what a form says of a flight; a new aircraft is no aircraft yet.

    Raises:
        DataError: If a field cannot be, or two contradict each other.
    """
    weight = number(fields, "weight_kg", "weight", 1.0, 100000.0)
    takeoff = number(fields, "takeoff_weight_kg", "weight at take-off", 1.0, 100000.0)
    fuel = number(fields, "fuel_used_kg_per_h", "fuel used", 0.0, 10000.0)
    if weight is not None and takeoff is not None:
        raise DataError("a weight and a weight at take-off are both given", "give one of them")
    if fuel is not None and takeoff is None:
        raise DataError("fuel used was given without a weight at take-off", "give both")
    airframe = text(fields, "airframe")
    return FlightDetails(
        airframe=None if airframe in ("", NEW) else airframe,
        weight_kg=weight,
        flown_on=day(fields, "flown_on", "day"),
        flap_setting=text(fields, "flap_setting") or "up",
        airspeed_from=one_of(fields, "airspeed_from", "airspeed from", _AIRSPEEDS) or None,
        note=text(fields, "note"),
        declination_deg=number(fields, "declination_deg", "declination", -180.0, 180.0),
        solve_by=one_of(fields, "solve_by", "solved by", _SOLVED),
        takeoff_weight_kg=takeoff,
        fuel_used_kg_per_h=fuel,
        mapping=mapping,
        keep_log=bool(text(fields, "keep_log")),
        air=stated_air(
            temperature_shows=one_of(
                fields, "temperature_shows", "the temperature shows", _TEMPERATURES
            )
            or None,
            oat_degc=number(fields, "oat_degc", "outside temperature", -90.0, 60.0),
            altimeter_setting=number(fields, "altimeter_setting", "altimeter", 850.0, 1100.0),
        ),
    )


def new_airframe_of(store: Store, fields: Fields) -> AirframeAnswers | None:
    """Return what a form says of a new aircraft; None if one of the store is chosen.

    Raises:
        DataError: If it has no tag, or one that cannot be.
        UnknownNameError: If the tag is nearly that of another aircraft.
    """
    if text(fields, "airframe") != NEW:
        return None
    tag = text(fields, "new_tag")
    if not tag:
        raise DataError("the new aircraft has no tag", "give it one, such as C-07")
    refuse_bad_tag(tag)
    if show_airframe(store, tag) is not None:
        raise DataError(f"{tag} is in the store already", "choose it in the list of aircraft")
    return AirframeAnswers(
        tag=tag,
        type=text(fields, "new_type"),
        static_source=text(fields, "new_static_source"),
        engine=text(fields, "new_engine"),
        propeller=text(fields, "new_propeller"),
        weight_kg=number(fields, "new_weight_kg", "reference weight", 1.0, 100000.0),
    )
