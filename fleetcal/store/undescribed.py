"""Names and values for what nobody has described yet.

An airframe may be kept by its tag alone. Its type, static source, engine and propeller then get
names that state so and hold the tag, so that it is pooled with no other airframe. Whoever
describes it later fills them in, and the flights follow.

A reference weight or a scaling speed that had to be supposed is marked in the note of the type.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Final

from fleetcal.store.description import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    PropellerDescription,
    StaticSourceDescription,
    TypeDescription,
)

#: Taken where nobody stated a weight or a stall speed. A light two-seater has about these
#: (common practice, no published source). The speed scales lift: from 35 to 60 kt the curves of
#: the made-up fleet are the same to 1e-6 kt, and the widths of bands differ by 6 %, by 17 % with
#: nine airframes (`tests/cli/test_scaling_speed.py`). Airspeeds of a curve hold at the weight.
SUPPOSED_WEIGHT_KG: Final = 600.0
SUPPOSED_SCALING_KT: Final = 45.0
#: First day of what an airframe carries where nobody stated since when: before any flight.
FIRST_DAY: Final = date(1900, 1, 1)
_NOT_YET: Final = "not described yet"
_WEIGHT_NOTE: Final = "reference weight supposed"
_SPEED_NOTE: Final = "scaling speed supposed"


def undescribed(part: str, tag: str) -> str:
    """Return the name of what was not described of one airframe.

    Args:
        part: ``type``, ``static source``, ``engine`` or ``propeller``.

    Returns:
        Such as ``engine not described yet (C-07)``; that of no other airframe.
    """
    return f"{part} {_NOT_YET} ({tag})"


def is_undescribed(name: str) -> bool:
    """Tell whether a name stands for what was not described."""
    return f" {_NOT_YET} (" in name and name.endswith(")")


def day_words(day: date) -> str:
    """Return the first day of a fit for a sentence: ``the start`` where nobody stated it."""
    return "the start" if day == FIRST_DAY else day.isoformat()


def undescribed_airframe(tag: str, weight_kg: float | None = None) -> FleetDescription:
    """Return the description of an airframe of which only the tag is known.

    Args:
        weight_kg: Taken as the reference weight of its type, if any is known.
    """
    kind = supposed_type(undescribed("type", tag), weight_kg=weight_kg or SUPPOSED_WEIGHT_KG)
    port, engine, propeller = (
        undescribed(part, tag) for part in ("static source", "engine", "propeller")
    )
    fit = FitDescription(
        from_date=FIRST_DAY, static_source=port, engine=engine, propeller=propeller
    )
    return FleetDescription(
        types=(with_ports(kind, (port,)),),
        engines=(engine,),
        propellers=(PropellerDescription(propeller),),
        airframes=(AirframeDescription(tag=tag, type=kind.name, fits=(fit,)),),
    )


def supposed_type(
    name: str, *, weight_kg: float = SUPPOSED_WEIGHT_KG, scaling_kt: float = SUPPOSED_SCALING_KT
) -> TypeDescription:
    """Return a type whose reference weight and scaling speed are supposed."""
    return TypeDescription(
        name=name,
        reference_weight_kg=weight_kg,
        scaling_speed_kt=scaling_kt,
        note=note_of(weight=True, speed=True),
    )


def with_ports(kind: TypeDescription, ports: Iterable[str]) -> TypeDescription:
    """Return a type with its static sources by name."""
    return replace(kind, static_sources=tuple(StaticSourceDescription(one) for one in ports))


def note_of(*, weight: bool, speed: bool, rest: str = "") -> str:
    """Return the note of a type that states what of it is supposed.

    Args:
        weight, speed: Whether the reference weight and the scaling speed are.
        rest: What else the note holds.
    """
    parts = (_WEIGHT_NOTE if weight else "", _SPEED_NOTE if speed else "", rest)
    return "; ".join(part for part in parts if part)


def rest_of_note(note: str) -> str:
    """Return a note of a type without what it states of supposed values."""
    parts = (part for part in note.split("; ") if part not in (_WEIGHT_NOTE, _SPEED_NOTE))
    return "; ".join(parts)


def weight_is_supposed(note: str) -> bool:
    """Tell by the note of a type whether nobody stated its reference weight."""
    return _WEIGHT_NOTE in note.split("; ")


def speed_is_supposed(note: str) -> bool:
    """Tell by the note of a type whether its scaling speed is the one taken by default."""
    return _SPEED_NOTE in note.split("; ")
