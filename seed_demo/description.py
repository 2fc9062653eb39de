"""The fleet as its records have it, in the text form that `fleetcal fleet load` reads."""

from __future__ import annotations

from typing import Final

from seed_demo import handbook
from seed_demo.fleet import Airframe
from seed_demo.truth import (
    ADJUSTABLE,
    CONSTANT_SPEED,
    FIXED,
    LARGE_ENGINE,
    MID_FUSELAGE,
    REFERENCE_WEIGHT_KG,
    SCALING_SPEED_KT,
    SMALL_ENGINE,
    TAIL_BOOM,
    WING_BOOM,
)

TYPE_NAME: Final = "Corrie 2"
STATIC_SOURCES: Final = {
    TAIL_BOOM: "two flush holes on the sides of the tail boom",
    MID_FUSELAGE: "two raised discs behind the cabin",
    WING_BOOM: "tube ahead of the right wing, static holes in its side",
}


def _table(heading: str, /, **values: str | float) -> str:
    lines = [f"[[{heading}]]"]
    for key, value in values.items():
        lines.append(f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}")
    return "\n".join(lines) + "\n"


def _type() -> str:
    sources = (
        _table("type.static_source", name=name, description=text)
        for name, text in STATIC_SOURCES.items()
    )
    head = _table(
        "type",
        name=TYPE_NAME,
        wing_area_m2=11.8,
        reference_weight_kg=REFERENCE_WEIGHT_KG,
        scaling_speed_kt=SCALING_SPEED_KT,
        stall_speed_clean_kt=47.0,
        stall_speed_landing_kt=42.0,
        flap_limit_kt=82.0,
        manoeuvring_speed_kt=98.0,
        never_exceed_kt=154.0,
        note="invented two-seat composite touring aircraft",
    )
    return "\n".join((head, *sources))


def _airframe(airframe: Airframe) -> str:
    told: dict[str, str | float] = {"temperature_shows": airframe.temperature_shows}
    if airframe.stated_recovery is not None:
        told["recovery_factor"] = airframe.stated_recovery
    parts = [_table("airframe", tag=airframe.tag, type=TYPE_NAME, note=airframe.note, **told)]
    for fit in airframe.fits:
        equipment = _table(
            "airframe.fit",
            static_source=fit.group.static_source,
            engine=fit.group.engine,
            propeller=fit.group.propeller,
            pitot=fit.pitot,
            note=fit.note,
        )
        # A date is written bare, without quotation marks.
        parts.append(equipment.replace("]]\n", f"]]\nfrom = {fit.from_date.isoformat()}\n", 1))
    return "\n".join(parts)


def _handbook() -> str:
    head = _table(
        "handbook",
        type=TYPE_NAME,
        static_source=TAIL_BOOM,
        flap_setting="up",
        name=handbook.NAME,
        weight_kg=REFERENCE_WEIGHT_KG,
    )
    rows = ", ".join(f"[{ias}, {cas}]" for ias, cas in handbook.rows())
    speeds = ", ".join(f'["{name}", {ias}]' for name, ias in handbook.SPEEDS)
    return f"{head}rows = [{rows}]\nspeeds = [{speeds}]\n"


def fleet_toml(fleet: tuple[Airframe, ...]) -> str:
    """Return the description of the fleet as the records have it, truth left out."""
    parts = [
        "# The Corrie 2 fleet. Everything in this file is invented for a demonstration.\n",
        _type(),
        *(_table("engine", name=name) for name in (SMALL_ENGINE, LARGE_ENGINE)),
        *(_table("propeller", name=name, pitch="fixed") for name in (FIXED, ADJUSTABLE)),
        _table("propeller", name=CONSTANT_SPEED, pitch="constant speed"),
        *(_airframe(airframe) for airframe in fleet),
        _handbook(),
    ]
    return "\n".join(parts)
