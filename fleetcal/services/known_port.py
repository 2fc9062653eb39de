"""What the store knows of a port and its type, held against a large error.

A handbook's table and points that were kept say what the port does at the same lift; a
stall and a never-exceed speed say what cannot have been flown. Airspeeds that differ by
more than a tenth contradict each other: airframes of a type differ by far less, and a slip
of miles an hour and knots makes 13 or 15 % (common practice, no published source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.records import Point
from fleetcal.store import (
    CAS,
    HandbookDescription,
    KnownKappa,
    PointFilter,
    TypeDescription,
    find_airframe,
    fit_in_force,
    kappas_near,
    load_description,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

#: Ratios of calibrated airspeeds further from 1 contradict each other; nearer ones agree.
_APART: Final = 0.10
_AGREE: Final = 0.05
# Points count as flown at the same lift within this share of airspeed.
_SAME_SPEED: Final = 0.08
# Weights differ by less than a factor of 2, so airspeeds at one lift by less than this one.
_WEIGHTS: Final = 1.45
# Slower than this share of the stall nothing flies, faster than that of never exceed nobody.
_LEAST_OF_STALL: Final = 0.8
_MOST_OF_LIMIT: Final = 1.1


@dataclass(frozen=True, kw_only=True)
class KnownPort:
    """What is known of the port of an airframe on a day."""

    airframe: str
    kind: TypeDescription
    static_source: str
    handbooks: tuple[HandbookDescription, ...]
    kappas: tuple[KnownKappa, ...]

    def contradiction(self, point: Point) -> str:
        """Return what contradicts a point's large error; empty if nothing does."""
        factors = {book.name: factor for book, factor in self._handbook_factors(point)}
        if any(abs(factor - 1.0) < _AGREE for factor in factors.values()):
            return ""
        shown = _shown(point)
        for name, factor in factors.items():
            if abs(factor - 1.0) > _APART:
                cas = (point.vic_kt + point.dvpc_kt) / factor
                return f"{shown}, where handbook {name} has {cas:.0f} kt"
        return self._points_against(point, shown) or self._speeds_against(point, shown)

    def bears_out(self, point: Point) -> str:
        """Return the name of a handbook that has such an error there; empty if none has."""
        return next(
            (
                book.name
                for book, factor in self._handbook_factors(point)
                if abs(factor - 1.0) < _AGREE
            ),
            "",
        )

    def _handbook_factors(self, point: Point) -> Iterator[tuple[HandbookDescription, float]]:
        """Yield each handbook that reaches so far, with CAS found over CAS printed."""
        for book in self.handbooks:
            if book.flap_setting != point.flap_setting or not book.rows:
                continue
            ias, cas = (np.array(column) for column in zip(*book.rows, strict=True))
            speed = point.vic_kt * np.sqrt(book.weight_kg / self._weight(point))
            printed = np.interp(speed, ias, cas / ias, left=np.nan, right=np.nan)
            if np.isfinite(printed):
                yield book, float((1.0 + point.dvpc_kt / point.vic_kt) / printed)

    def _points_against(self, point: Point, shown: str) -> str:
        """Hold a point against those of its airframe at its lift, or else those of others."""
        speed = point.vic_kt / np.sqrt(self._weight(point))
        near = [
            known
            for known in self.kappas
            if abs(known.vic_kt / np.sqrt(known.weight_kg) / speed - 1.0) < _SAME_SPEED
        ]
        own = [known for known in near if known.airframe == self.airframe]
        chosen = own or near
        if not chosen:
            return ""
        usual = float(np.median([known.kappa for known in chosen]))
        if abs(np.sqrt((1.0 + point.kappa) / (1.0 + usual)) - 1.0) <= _APART:
            return ""
        cas = point.vic_kt * np.sqrt(1.0 + usual)
        whose = f"kept points of {self.airframe if own else 'other airframes'}"
        return f"{shown}, where {whose} have {cas:.0f} kt"

    def _speeds_against(self, point: Point, shown: str) -> str:
        """Hold a point against the stall and never-exceed speeds of the type."""
        cas = point.vic_kt + point.dvpc_kt
        if self.kind.speeds_are == CAS:
            speeds = [cas]
        elif self.kind.speeds_port:
            speeds = [point.vic_kt] if self.kind.speeds_port == self.static_source else []
        else:
            speeds = [point.vic_kt, cas]
        stalls = _given(self.kind.stall_speed_clean_kt, self.kind.stall_speed_landing_kt)
        heavier = np.sqrt(self._weight(point) / self.kind.reference_weight_kg)
        if speeds and stalls and max(speeds) < _LEAST_OF_STALL * min(stalls) * heavier:
            return f"{shown}, and the type stalls at {min(stalls) * heavier:.0f} kt"
        limit = self.kind.never_exceed_kt
        if speeds and limit and min(speeds) > _MOST_OF_LIMIT * limit:
            return f"{shown}, and the type's never-exceed speed is {limit:.0f} kt"
        return ""

    def _weight(self, point: Point) -> float:
        known = np.isfinite(point.weight_kg)
        return point.weight_kg if known else self.kind.reference_weight_kg


def known_port(
    session: Session, tag: str, flown_on: date, points: Iterable[Point], not_from: str
) -> KnownPort:
    """Return what the store knows of a port.

    Args:
        points: That are to be held against it, of one flap setting; at least one.
        not_from: SHA-256 of the file they come from, whose stored points know nothing more.
    """
    airframe = find_airframe(session, tag)
    source = fit_in_force(airframe, flown_on).static_source.name
    description = load_description(session)
    type_name = airframe.aircraft_type.name
    every = tuple(points)
    speeds = [point.vic_kt for point in every]
    filter_ = PointFilter(type=type_name, static_source=source, flap_setting=every[0].flap_setting)
    return KnownPort(
        airframe=tag,
        kind=next(kind for kind in description.types if kind.name == type_name),
        static_source=source,
        handbooks=tuple(
            book
            for book in description.handbooks
            if (book.type, book.static_source) == (type_name, source)
        ),
        kappas=tuple(
            kappas_near(
                session,
                filter_,
                (min(speeds) / _WEIGHTS, max(speeds) * _WEIGHTS),
                not_from,
            )
        ),
    )


def _shown(point: Point) -> str:
    cas = point.vic_kt + point.dvpc_kt
    return f"{point.vic_kt:.0f} kt would be {cas:.0f} kt calibrated"


def _given(*speeds: float | None) -> list[float]:
    return [speed for speed in speeds if speed is not None]
