"""A stored measurement as every pooled fit sees it, whatever it measures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple, NotRequired, Self, TypedDict, Unpack

import numpy as np

from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.store import CruiseRow, StoredClimb, StoredPoint


class OwnedTerm(NamedTuple):
    """A signed part of the uncertainty of y that has one unknown value for all of its owner."""

    name: str
    owner: str
    u: float


class Measured(TypedDict):
    """What a quantity makes of a stored row: the values of a `PooledPoint` that are its own."""

    number: int
    speed_kt: float
    weight_kg: float
    x: float
    y: float
    u_y: float
    terms: tuple[OwnedTerm, ...]
    never_on_bench: NotRequired[bool]


@dataclass(frozen=True, kw_only=True, slots=True)
class PooledPoint:
    """One measurement.

    Attributes:
        number: In the list of the measurements.
        speed_kt: IAS, CAS or TAS, at `weight_kg`.
        weight_kg: That the speed is for.
        u_y: Standard uncertainty of y, all terms together.
        terms: Those that others own: the sortie, the airframe or the fleet.
        never_on_bench: Whether its indicator was never checked on a bench.
        barred: Why a failed leak check keeps it out; empty if none does.
        stored: The row that it was read from.
    """

    number: int
    sortie_id: int
    airframe: str
    static_source: str
    engine: str
    propeller: str
    flown_on: date
    speed_kt: float
    weight_kg: float
    x: float
    y: float
    u_y: float
    terms: tuple[OwnedTerm, ...]
    accepted: bool
    reason: str
    barred: str
    stored: StoredPoint | StoredClimb | CruiseRow
    never_on_bench: bool = False

    @classmethod
    def of(cls, stored: StoredPoint | StoredClimb | CruiseRow, **values: Unpack[Measured]) -> Self:
        """Return the point that a stored row makes; what was flown, and when, is the row's."""
        row = stored.point if isinstance(stored, CruiseRow) else stored
        return cls(
            sortie_id=row.sortie_id,
            airframe=row.airframe,
            static_source=row.static_source,
            engine=row.engine,
            propeller=row.propeller,
            flown_on=row.flown_on,
            accepted=row.accepted,
            reason=row.reason,
            barred=row.barred,
            stored=stored,
            **values,
        )

    def speed_at(self, weight_kg: float) -> float:
        """Return the airspeed that has the same lift coefficient at another weight, kt."""
        return self.speed_kt * math.sqrt(weight_kg / self.weight_kg)


def fleet_points(
    rows: Sequence[PooledPoint], aircraft: Sequence[int], group_of: Sequence[int]
) -> FleetPoints:
    """Turn points into the arrays that the fleet room works on.

    Args:
        aircraft: Unit of each point, numbered from 0.
        group_of: Group of each unit, numbered from 0.

    Returns:
        What belongs to a point alone is its whole uncertainty less the terms that others own, and
        never less than a tenth of the whole.

    Raises:
        FitError: If a point is not finite or claims no uncertainty.
    """
    sortie, airframe, fleet = (terms_of(rows, owner) for owner in ("sortie", "airframe", "fleet"))
    total = np.array([row.u_y for row in rows])
    others = sum((terms**2).sum(axis=1) for terms in (sortie, airframe, fleet))
    return FleetPoints(
        x=np.array([row.x for row in rows], dtype=np.float64),
        y=np.array([row.y for row in rows], dtype=np.float64),
        u_own=np.sqrt(np.maximum(total**2 - others, (0.1 * total) ** 2)),
        u_shared=sortie,
        sortie=np.array([row.sortie_id for row in rows], dtype=np.int64),
        aircraft=np.array(aircraft, dtype=np.int64),
        group_of=np.array(group_of, dtype=np.int64),
        u_airframe=airframe,
        u_fleet=fleet,
        number=np.array([row.number for row in rows], dtype=np.int64),
    )


def terms_of(rows: Sequence[PooledPoint], owner: str, without: str = "") -> Array:
    """Return the terms of one owner, a column for each name.

    Args:
        owner: ``sortie``, ``airframe`` or ``fleet``.
        without: Name of a term that is left out.

    Returns:
        Shape (rows, names): Signed, in y; 0 where a point has no such term.
    """
    names = sorted(
        {term.name for row in rows for term in row.terms if term.owner == owner} - {without}
    )
    column = {name: i for i, name in enumerate(names)}
    found = np.zeros((len(rows), len(names)))
    for i, row in enumerate(rows):
        for term in row.terms:
            if term.owner == owner and term.name in column:
                found[i, column[term.name]] = term.u
    return found
