"""What a fleet consists of, as plain values: nothing here knows the database."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

#: What the speeds of a type may be said to be; the name of a static source follows the last.
CAS: Final = "CAS"
IAS_ON: Final = "IAS on "


@dataclass(frozen=True)
class StaticSourceDescription:
    """A way of taking static pressure, within one type."""

    name: str
    description: str = ""


@dataclass(frozen=True, kw_only=True)
class TypeDescription:
    """An aircraft type.

    Attributes:
        reference_weight_kg, scaling_speed_kt: Weight and speed by which curves are scaled.
        manoeuvring_speed_kt, never_exceed_kt: As published for the type; None where unknown.
        speeds_are: What the five speeds are: ``CAS``, ``IAS on`` and the name of a static source,
            or empty where nobody said.
    """

    name: str
    reference_weight_kg: float
    scaling_speed_kt: float
    wing_area_m2: float | None = None
    stall_speed_clean_kt: float | None = None
    stall_speed_landing_kt: float | None = None
    flap_limit_kt: float | None = None
    manoeuvring_speed_kt: float | None = None
    never_exceed_kt: float | None = None
    note: str = ""
    static_sources: tuple[StaticSourceDescription, ...] = ()
    speeds_are: str = ""

    @property
    def speeds_port(self) -> str:
        """Static source whose IAS the speeds are; empty if they are CAS, or nobody said."""
        return self.speeds_are.removeprefix(IAS_ON) if self.speeds_are.startswith(IAS_ON) else ""


@dataclass(frozen=True, kw_only=True)
class FitDescription:
    """What an airframe carries from a date on, until its next fit."""

    from_date: date
    static_source: str
    engine: str
    propeller: str
    pitot: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class AirframeDescription:
    """One aircraft, known by its tag.

    Attributes:
        temperature_shows: What its temperature display shows: ``ambient``, or ``probe`` for what
            the probe feels; None while nobody has said.
        recovery_factor: Of the probe, where it is known.
        fits: In any order.
    """

    tag: str
    type: str
    registration: str | None = None
    note: str = ""
    temperature_shows: str | None = None
    recovery_factor: float | None = None
    fits: tuple[FitDescription, ...] = ()


@dataclass(frozen=True, kw_only=True)
class HandbookDescription:
    """A published table for one static source and flap setting.

    Attributes:
        type, static_source, flap_setting, name: Together they name the table.
        weight_kg: Weight the table was published for.
        rows: Tuple of (ias_kt, cas_kt).
        speeds (tuple of (name, ias_kt)): Speeds that the handbook names, as the IAS it prints.
    """

    type: str
    static_source: str
    flap_setting: str
    name: str
    weight_kg: float
    rows: tuple[tuple[float, float], ...] = ()
    speeds: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class CruiseTableDescription:
    """A handbook's cruise table for one engine and propeller.

    Attributes:
        type, engine, propeller, name: Together they name the table.
        weight_kg: Weight the table was published for.
        rows (tuple of (power_pct, pressure_altitude_ft, tas_kt)): In standard air.
    """

    type: str
    engine: str
    propeller: str
    name: str
    weight_kg: float
    rows: tuple[tuple[float, float, float], ...] = ()


#: What a propeller's pitch may be said to be.
PITCHES: Final = ("", "fixed", "constant speed")


@dataclass(frozen=True)
class PropellerDescription:
    """A propeller.

    Attributes:
        pitch: In flight: ``fixed`` (also one that is set on the ground), ``constant speed``, or
            empty where nobody said.
    """

    name: str
    pitch: str = ""


@dataclass(frozen=True, kw_only=True)
class FleetDescription:
    """All that is described of a fleet."""

    types: tuple[TypeDescription, ...] = ()
    engines: tuple[str, ...] = ()
    propellers: tuple[PropellerDescription, ...] = ()
    airframes: tuple[AirframeDescription, ...] = ()
    handbooks: tuple[HandbookDescription, ...] = ()
    cruise_tables: tuple[CruiseTableDescription, ...] = ()


@dataclass(frozen=True)
class SaveCounts:
    """How many of the described things were new, differed from the store, or were there already."""

    added: int
    changed: int
    unchanged: int
