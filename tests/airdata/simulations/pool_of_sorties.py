"""Points of simulated flights as a pool of stored ones has them, without a store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import FleetcalError
from fleetcal.fleet.points import FleetPoints
from fleetcal.records import Point, values_of
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points
from fleetcal.services.curves.position_error import pooled_points
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduced_rows import new_point
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.solve_flight import solve_flight
from fleetcal.store import StoredPoint, TypeDescription
from seed_demo.air import KT
from tests.airdata.simulations.ordinary_table import NO_WEIGHT
from tests.airdata.simulations.point_mass import MASS_KG
from tests.airdata.simulations.recorder import SCALING_MPS

TYPE = TypeDescription(
    name="Corrie 2", reference_weight_kg=MASS_KG, scaling_speed_kt=SCALING_MPS / KT
)
A_DAY = datetime(2025, 4, 1, tzinfo=UTC)
SORTIES_AT_MOST = 1000

#: The reduced points of one flight.
Sortie = Sequence[RunLine]


def solved_legs(flight: Flight) -> Sortie:
    """Reduce a test flight; no points where it tells nothing."""
    try:
        details = FlightDetails(airframe=None, solve_by="legs")
        return solve_flight(flight, details, Assumptions(), NO_WEIGHT).result.runs
    except FleetcalError:
        return ()


def pooled_rows(airframes: Sequence[Sequence[Sortie]]) -> list[PooledPoint]:
    """Return the accepted points of the sorties of airframes as the store would give them."""
    rows: list[StoredPoint] = []
    for airframe, sorties in enumerate(airframes):
        for place, lines in enumerate(sorties):
            sortie = SORTIES_AT_MOST * airframe + place
            rows += [_stored(line, airframe, sortie, len(rows)) for line in lines if line.accepted]
    return pooled_points(TYPE, rows)


def pooled(airframes: Sequence[Sequence[Sortie]]) -> FleetPoints:
    """Return the accepted points of the sorties of airframes as a pool of stored ones has them."""
    rows = pooled_rows(airframes)
    owners = np.array([int(row.airframe) for row in rows], dtype=int)
    known, number = np.unique(owners, return_inverse=True)
    return fleet_points(rows, number.tolist(), [0] * len(known))


def _stored(line: RunLine, airframe: int, sortie: int, number: int) -> StoredPoint:
    point = new_point(replace(line, weight_kg=MASS_KG))
    return StoredPoint(
        **values_of(Point, point),
        terms=point.terms,
        point_id=number,
        sortie_id=sortie,
        airframe=str(airframe),
        type=TYPE.name,
        static_source="wing boom",
        engine="95 hp",
        propeller="fixed",
        pitot="",
        flown_on=A_DAY.date(),
        source_name="simulated flight",
        track_reference="true",
        decided_at=A_DAY,
    )
