"""The form of one flight: what it shows, and what it says of the flight."""

from __future__ import annotations

from collections.abc import Mapping
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
from fleetcal.services.repeated_flight import ANOTHER, INSTEAD
from fleetcal.web.fields import Field, Typed, read_fields

#: Stands for an aircraft that is not in the store.
NEW: Final = "+new"
_HEAVIEST_KG: Final = 100000.0


def _weight(name: str, label: str, advice: str = "") -> Field:
    return Field(
        name=name,
        label=label,
        kind="number",
        unit="kg",
        low=1.0,
        high=_HEAVIEST_KG,
        advice=advice,
    )


_FLOWN: Final = (
    Field(
        name="solve_by",
        label="Solved by",
        kind="choice",
        choices=(
            ("legs", "straight legs"),
            ("manoeuvres", "steady turns and boxes"),
            ("flight", "the entire flight, without legs"),
        ),
    ),
    _weight("weight_kg", "Weight", "the same all flight; with lb if you like"),
    _weight("takeoff_weight_kg", "or weight at take-off", "each run gets its own"),
    Field(
        name="fuel_used_kg_per_h",
        label="and fuel used, kg/h",
        kind="number",
        low=0.0,
        high=10000.0,
        advice="blank if the log has a fuel flow",
    ),
    Field(name="flap_setting", label="Flaps"),
    Field(name="flown_on", label="Day", kind="day", advice="blank: the log's own"),
    Field(name="note", label="Note"),
)
_NEW: Final = (
    Field(name="new_tag", label="Its tag", advice="such as C-07"),
    Field(name="new_type", label="Type"),
    Field(name="new_static_source", label="Static source"),
    Field(name="new_engine", label="Engine"),
    Field(name="new_propeller", label="Propeller"),
    _weight("new_weight_kg", "Reference weight of the type"),
)
_READ: Final = (
    Field(
        name="airspeed_from",
        label="Airspeed from",
        kind="choice",
        choices=(
            ("indicated_airspeed", "indicated airspeed"),
            ("impact_pressure", "impact pressure"),
            ("true_airspeed", "true airspeed"),
        ),
        advice="blank: what the log says best",
    ),
    Field(
        name="temperature_shows",
        label="The temperature shows",
        kind="choice",
        choices=(("ambient", "outside temperature"), ("probe", "what its probe feels")),
        advice="blank: what stands with the aircraft",
    ),
    Field(
        name="oat_degc",
        label="Outside temperature, °C",
        kind="number",
        low=-90.0,
        high=60.0,
        advice="if the log has none",
    ),
    Field(
        name="altimeter_setting",
        label="Altimeter set to, hPa",
        kind="number",
        low=850.0,
        high=1100.0,
        advice="if its altitudes are not pressure altitudes",
    ),
    Field(
        name="declination_deg",
        label="Declination, °",
        kind="number",
        low=-180.0,
        high=180.0,
        advice="east positive; makes magnetic tracks true",
    ),
)
_KEEP: Final = (
    Field(name="keep_log", label="Keep the log itself in the store too", kind="tick"),
    Field(
        name="repeat",
        label="If it is kept already",
        kind="choice",
        choices=(
            (ANOTHER, "it is another flight: keep both"),
            (INSTEAD, "let it take the place of the one that is kept"),
        ),
        advice="blank: a flight that is kept from another file is not kept twice",
    ),
)


def groups(store: Store, advice: str = "blank: only look") -> dict[str, tuple[Field, ...]]:
    """Return the fields of the form, by the part of it where they stand.

    Args:
        advice: On choosing an aircraft.
    """
    tags = sorted({line.airframe for line in show_fleet(store).fits})
    airframe = Field(
        name="airframe",
        label="Aircraft",
        kind="choice",
        choices=(*((tag, tag) for tag in tags), (NEW, "a new aircraft")),
        advice=advice,
    )
    return {"flown": (airframe, *_FLOWN), "new": _NEW, "read": _READ, "last": _KEEP}


#: What stands in the fields before anybody wrote in them.
BLANK: Final[Mapping[str, str]] = {
    "airframe": "",
    **{field.name: "" for field in (*_FLOWN, *_NEW, *_READ, *_KEEP)},
    "solve_by": "legs",
    "flap_setting": "up",
}


def written(form: Mapping[str, str]) -> dict[str, str]:
    """Return the fields of a form as they were written; one that is missing is blank."""
    return {name: form.get(name, "") for name in BLANK}


def fields_of(details: FlightDetails) -> dict[str, str]:
    """Return the fields as they say what a flight was reduced with."""
    known = {
        "airframe": details.airframe,
        "solve_by": details.solve_by,
        "weight_kg": details.weight_kg,
        "takeoff_weight_kg": details.takeoff_weight_kg,
        "fuel_used_kg_per_h": details.fuel_used_kg_per_h,
        "flap_setting": details.flap_setting,
        "flown_on": details.flown_on,
        "note": details.note,
        "airspeed_from": details.airspeed_from,
        "declination_deg": details.declination_deg,
        "temperature_shows": details.air.document().get("temperature_shows"),
        "oat_degc": details.air.document().get("oat_degc"),
        "altimeter_setting": details.air.document().get("altimeter_setting"),
    }
    written = {
        name: f"{value:g}" if isinstance(value, float) else str(value)
        for name, value in known.items()
        if value not in (None, "")
    }
    return {**BLANK, **written}


def typed_in(store: Store, fields: Mapping[str, str]) -> Typed:
    """Return what was typed.

    Raises:
        FieldsError: If a field cannot be understood.
    """
    return read_fields([field for group in groups(store).values() for field in group], fields)


def details_of(typed: Typed, mapping: Path | None) -> FlightDetails:
    """Return what a form says of a flight; a new aircraft is no aircraft yet.

    Raises:
        DataError: If two fields contradict each other.
    """
    takeoff, fuel = typed.number("takeoff_weight_kg"), typed.number("fuel_used_kg_per_h")
    if typed.number("weight_kg") is not None and takeoff is not None:
        raise DataError("a weight and a weight at take-off are both given", "give one of them")
    if fuel is not None and takeoff is None:
        raise DataError("fuel used was given without a weight at take-off", "give both")
    airframe = typed.text("airframe")
    return FlightDetails(
        airframe=None if airframe in ("", NEW) else airframe,
        weight_kg=typed.number("weight_kg"),
        flown_on=typed.day("flown_on"),
        flap_setting=typed.text("flap_setting") or "up",
        airspeed_from=typed.text("airspeed_from") or None,
        note=typed.text("note"),
        declination_deg=typed.number("declination_deg"),
        solve_by=typed.text("solve_by") or "legs",
        takeoff_weight_kg=takeoff,
        fuel_used_kg_per_h=fuel,
        mapping=mapping,
        keep_log=typed.tick("keep_log"),
        repeat=typed.text("repeat"),
        air=stated_air(
            temperature_shows=typed.text("temperature_shows") or None,
            oat_degc=typed.number("oat_degc"),
            altimeter_setting=typed.number("altimeter_setting"),
        ),
    )


def new_airframe_of(store: Store, typed: Typed) -> AirframeAnswers | None:
    """Return what a form says of a new aircraft; None if one of the store is chosen.

    Raises:
        DataError: If it has no tag, or one that cannot be.
        UnknownNameError: If the tag is nearly that of another aircraft.
    """
    if typed.text("airframe") != NEW:
        return None
    tag = typed.text("new_tag")
    if not tag:
        raise DataError("the new aircraft has no tag", "give it one, such as C-07")
    refuse_bad_tag(tag)
    if show_airframe(store, tag) is not None:
        raise DataError(f"{tag} is in the store already", "choose it in the list of aircraft")
    return AirframeAnswers(
        tag=tag,
        type=typed.text("new_type"),
        static_source=typed.text("new_static_source"),
        engine=typed.text("new_engine"),
        propeller=typed.text("new_propeller"),
        weight_kg=typed.number("new_weight_kg"),
    )
