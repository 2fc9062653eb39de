"""What is said of the limits of a type: each as a CAS, or as an IAS of a port.

A handbook's limit is an IAS on the port of its table, and a CAS by that same table.
The fleet file's keys (never exceed, manoeuvring, flap limit) are what its `speeds_are`
says. Where it says nothing they are taken as a CAS, as an IAS on any port, and as they
stand, and whichever is lowest holds.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.handbook.handbook_table import HandbookTable
from fleetcal.store import CAS, HandbookDescription, Store, TypeDescription, load_description

NEVER_EXCEED: Final = "never exceed"
MANOEUVRING: Final = "manoeuvring"
FLAPS: Final = "flap limit"
GEAR: Final = "gear limit"
#: A limit of another name; it is told, and no plan knows what it is about.
OTHER: Final = "other limit"
#: Beginnings of words in the name of a speed that make it a limit of the airframe, whole words
#: after them. Common practice, no published source.
_LIMIT: Final = re.compile(
    r"\b(?:limit|never|exceed|man(?:o)?euv|maximum|max\b|not above|v(?:ne|no|a|fe|lo|le)\b)"
)
_RETRACTED: Final = re.compile(r"\b(?:flaps?|gear|undercarriage) (?:up|retracted)\b")
_KINDS: Final = (
    (FLAPS, re.compile(r"\b(?:flap|vfe\b)")),
    (GEAR, re.compile(r"\b(?:gear|undercarriage|vl[oe]\b)")),
    (NEVER_EXCEED, re.compile(r"\b(?:never|exceed|vne\b)")),
    (MANOEUVRING, re.compile(r"\b(?:man(?:o)?euv|va\b)")),
)


@dataclass(frozen=True, kw_only=True)
class StatedLimit:
    """One limit as one source says it.

    Attributes:
        kind: ``never exceed``, ``manoeuvring``, ``flap limit``, ``gear limit`` or ``other limit``.
        name: As the source calls it.
        source: The handbook's table, or the fleet file.
        ias_kt: As printed.
        port: Whose IAS it is; None if it is a CAS, or the source does not say.
        cas_kt: By the source's own table; None if it has none, or does not reach so far.
        weight_kg: That a manoeuvring speed is for.
        also_cas_kt: What the printed figure would be as a CAS if it were one itself, or an IAS on a
            port that a handbook has a table of; only where the source does not say.
    """

    kind: str
    name: str
    source: str
    ias_kt: float
    port: str | None
    cas_kt: float | None
    weight_kg: float
    also_cas_kt: tuple[float, ...] = ()

    @property
    def words(self) -> str:
        """The figure with what it is and where it comes from."""
        if self.port is None and self.cas_kt is not None:
            return f"{self.source} says {self.ias_kt:g} kt CAS"
        if self.port is None:
            return f"{self.source} says {self.ias_kt:g} kt and names no port"
        cas = "off its table" if self.cas_kt is None else f"{self.cas_kt:.1f} kt CAS by its table"
        return f"{self.source} prints {self.ias_kt:g} kt IAS on {self.port}, {cas}"


def limit_kind(speed: str) -> str:
    """Return what a named speed limits; empty if its name does not make it a limit."""
    name = _RETRACTED.sub("", speed.casefold())
    if not _LIMIT.search(name):
        return ""
    return next((kind for kind, words in _KINDS if words.search(name)), OTHER)


def stated_limits(
    kind: TypeDescription, handbooks: Sequence[HandbookDescription]
) -> tuple[StatedLimit, ...]:
    """Return all that is said of the limits of a type.

    Args:
        handbooks: Those of other types are passed over.

    Returns:
        The handbooks' first.
    """
    own = [HandbookTable(book) for book in handbooks if book.type == kind.name]
    found = [
        StatedLimit(
            kind=limit_kind(name),
            name=name,
            source=f"handbook {table.book.name}",
            ias_kt=ias,
            port=table.book.static_source,
            cas_kt=_cas(table, ias) if table.rises else None,
            weight_kg=table.book.weight_kg,
        )
        for table in own
        for name, ias in table.book.speeds
        if limit_kind(name)
    ]
    for name, speed in (
        (NEVER_EXCEED, kind.never_exceed_kt),
        (MANOEUVRING, kind.manoeuvring_speed_kt),
        (FLAPS, kind.flap_limit_kt),
    ):
        if speed is not None:
            found.append(limit_of_fleet_file(kind, name, speed, handbooks))
    return tuple(found)


def limits_of_type(store: Store, fitted: FittedGroup) -> tuple[StatedLimit, ...]:
    """Return all that the store says of the limits of a fitted group's type."""
    with store.lookup() as reader:
        handbooks = load_description(reader).handbooks
    return stated_limits(fitted.known.type, handbooks)


def limit_of_fleet_file(
    kind: TypeDescription, name: str, speed_kt: float, handbooks: Sequence[HandbookDescription]
) -> StatedLimit:
    """Return a speed of the fleet file: a CAS, an IAS of a named port, or of none.

    Args:
        speed_kt: kt.
        handbooks: For their tables of IAS against CAS; those of other types are passed over.
    """
    own_tables = (HandbookTable(book) for book in handbooks if book.type == kind.name)
    tables = [table for table in own_tables if table.rises]
    port = kind.speeds_port
    meant: tuple[float, ...] = ()
    cas: float | None = None
    if kind.speeds_are == CAS:
        cas = speed_kt
    elif port:
        own = (_cas(table, speed_kt) for table in tables if table.book.static_source == port)
        cas = min((value for value in own if value is not None), default=None)
    else:
        by_table = (_cas(table, speed_kt) for table in tables)
        meant = (speed_kt, *(value for value in by_table if value is not None))
    return StatedLimit(
        kind=name,
        name=name,
        source="the fleet file",
        ias_kt=speed_kt,
        port=port or None,
        cas_kt=cas,
        weight_kg=kind.reference_weight_kg,
        also_cas_kt=meant,
    )


def _cas(table: HandbookTable, ias_kt: float) -> float | None:
    cas = float(table.cas_kt(np.array([ias_kt]))[0])
    return None if np.isnan(cas) else cas
