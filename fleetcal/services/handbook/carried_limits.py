"""The limits of a type on the port that is fitted: where sources disagree, the lower holds.

A limit is a CAS. The IAS that the fitted port shows there is solved for, and what may be
used is the low edge of its 95 % band for another aircraft. A limit that cannot be carried
stands at the lower of what is known of it, and says so.

A table for one weight takes never exceed as the lower of that weight and the lightest
flown.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FleetcalError
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.limit_sources import (
    FLAPS,
    GEAR,
    MANOEUVRING,
    NEVER_EXCEED,
    OTHER,
    StatedLimit,
    stated_limits,
)
from fleetcal.store import HandbookDescription

_ORDER: Final = (NEVER_EXCEED, MANOEUVRING, FLAPS, GEAR, OTHER)
#: Two sources that differ by less say the same, kt.
_SAME_KT: Final = 0.05
#: What rounding alone may leave of a whole number.
_ROUNDING: Final = 1e-6
_NOT_FLOWN: Final = (
    "Not carried, since this port's curve does not reach so far: the lower printed figure holds"
)
_TAKEN: Final = "Taken as the lower of a CAS and another port's IAS: "
_OFF_TABLE: Final = "Not carried: the printed figure holds"
_AS_IT_STANDS: Final = "Taken as printed, the lowest that it can mean"
_SAME_PORT: Final = "Printed for this port: it holds, being lower than what its CAS gives"


@dataclass(frozen=True, kw_only=True)
class CarriedLimit:
    """One limit on the fitted port, at the weight of its curve.

    Attributes:
        name: As its source calls it.
        printed_kt: As its source prints it.
        usable_kt: IAS that is not to be passed: the low edge of the band, or the lower of what is
            known where the limit cannot be carried; rounded down to a tenth of a knot.
        cas_kt: That was carried; None where it cannot be.
        ias_kt, low_kt, high_kt: IAS on this port by the group's mean, and its 95 % band for one
            aircraft; None where it cannot be carried, or the band reaches too far beyond the speeds
            flown.
        because: Source, CAS and how it was carried, as a sentence without its full stop.
        against: What other sources say that is higher, a sentence each without its full stop.
    """

    kind: str
    name: str
    printed_kt: float
    usable_kt: float
    cas_kt: float | None
    ias_kt: float | None
    low_kt: float | None
    high_kt: float | None
    because: str
    against: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The limit with its reasons, for people."""
        return f"{self.name} {self.usable_kt:.1f} kt IAS: {self.reasons}"

    @property
    def reasons(self) -> str:
        """Why the limit lies there, without the last full stop."""
        return ". ".join((self.because, *(f"{one[:1].upper()}{one[1:]}" for one in self.against)))


@dataclass(frozen=True, kw_only=True)
class _Reading:
    """What one source makes of a limit on the fitted port; CAS and band (3,) where carried."""

    limit: StatedLimit
    usable_kt: float
    why: str
    cas_kt: float | None = None
    band: tuple[float | None, ...] = (None, None, None)

    @property
    def because(self) -> str:
        return f"{self.limit.words[:1].upper()}{self.limit.words[1:]}. {self.why}"


def rounded_down(speed_kt: float) -> float:
    """Return a limit in whole tenths of a knot, rounded down."""
    return floor(speed_kt * 10.0 + _ROUNDING) / 10.0


def limits_on_port(
    port: FittedPort, handbooks: Sequence[HandbookDescription]
) -> tuple[CarriedLimit, ...]:
    """Return the limits of a fitted group's type on its port.

    Returns:
        One for each kind that is known; each of another name by itself.
    """
    return carry_limits(stated_limits(port.fitted.known.type, handbooks), port)


def carry_limits(limits: Iterable[StatedLimit], port: FittedPort) -> tuple[CarriedLimit, ...]:
    """Carry limits to a fitted port, the lowest of each kind."""
    kinds: dict[tuple[str, str], list[_Reading]] = {}
    for one in limits:
        key = (one.kind, one.name.casefold() if one.kind == OTHER else "")
        kinds.setdefault(key, []).append(_reading(one, port))
    order = sorted(kinds, key=lambda key: (_ORDER.index(key[0]), key[1]))
    return tuple(_lowest(kinds[key]) for key in order)


def usable_kt(limits: Iterable[CarriedLimit], kind: str) -> float | None:
    """Return the IAS of a kind of limit that is not to be passed; None if it is not known."""
    return next((one.usable_kt for one in limits if one.kind == kind), None)


def _lowest(readings: list[_Reading]) -> CarriedLimit:
    first, *others = sorted(readings, key=lambda one: one.usable_kt)
    against = tuple(
        f"{one.limit.words}, which would be {rounded_down(one.usable_kt):.1f} kt here: the lower "
        "holds"
        for one in others
        if one.usable_kt - first.usable_kt > _SAME_KT
    )
    ias, low, high = first.band
    return CarriedLimit(
        kind=first.limit.kind,
        name=first.limit.name,
        printed_kt=first.limit.ias_kt,
        usable_kt=rounded_down(first.usable_kt),
        cas_kt=first.cas_kt,
        ias_kt=ias,
        low_kt=low,
        high_kt=high,
        because=first.because,
        against=against,
    )


def _reading(one: StatedLimit, port: FittedPort) -> _Reading:
    """Return the lowest that one source can mean on the fitted port."""
    fitted = port.fitted
    lighter = min(float(np.sqrt(fitted.weight_kg / one.weight_kg)), 1.0)
    factor = lighter if one.kind == MANOEUVRING else 1.0
    printed = one.ias_kt * factor
    if one.port is not None and one.cas_kt is None:
        off = _Reading(limit=one, usable_kt=printed, why=_OFF_TABLE)
        if one.port == fitted.name.static_source:
            return off
        return min(off, _carried(one, printed, printed, port), key=lambda found: found.usable_kt)
    meant = [cas * factor for cas in (one.cas_kt, *one.also_cas_kt) if cas is not None]
    found = [_carried(one, cas, printed, port) for cas in meant]
    if one.also_cas_kt:
        found.append(_Reading(limit=one, usable_kt=printed, why=_AS_IT_STANDS))
    elif one.port == fitted.name.static_source:
        found.append(_Reading(limit=one, usable_kt=printed, why=_SAME_PORT))
    return min(found, key=lambda reading: reading.usable_kt)


def _carried(one: StatedLimit, cas_kt: float, printed_kt: float, port: FittedPort) -> _Reading:
    try:
        solved = port.solve_next(np.array([cas_kt]))
    except FleetcalError as error:
        return _Reading(
            limit=one, usable_kt=min(printed_kt, cas_kt), why=f"Not carried: {error.message}"
        )
    ias, low, high = map(_finite, solved)
    if ias is None or low is None:
        return _Reading(
            limit=one,
            usable_kt=min(v for v in (printed_kt, cas_kt, ias) if v is not None),
            why=_NOT_FLOWN,
        )
    taken = _TAKEN if one.also_cas_kt else ""
    band = f"from {rounded_down(low):.1f}"
    if high is not None:
        band = f"{rounded_down(low):.1f} to {-rounded_down(-high):.1f}"
    whose = "another aircraft of the group" if port.fitted.airframe is None else "this aircraft"
    why = (
        f"{taken}{'this' if taken else 'This'} port shows {cas_kt:.1f} kt CAS at {ias:.1f} kt "
        f"({band} kt for {whose}, at {port.fitted.weight_kg:.0f} kg); the low edge holds"
    )
    return _Reading(limit=one, usable_kt=low, why=why, cas_kt=cas_kt, band=(ias, low, high))


def _finite(values: Array) -> float | None:
    return float(values[0]) if np.isfinite(values[0]) else None
