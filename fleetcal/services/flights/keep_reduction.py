"""What a reduction needs from the store, and how it gets there."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fleetcal.errors import DataError
from fleetcal.services.flights.changed_options import Given, changed_options, words_again
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduced_rows import new_leg, new_point
from fleetcal.services.flights.reduction import SOLVED_BY, FlightDetails, Reduction
from fleetcal.services.known_elsewhere import refuse_known_elsewhere
from fleetcal.services.repeated_flight import settle_repeat
from fleetcal.store import (
    NewSortie,
    PackedLog,
    PointFilter,
    SortieLine,
    add_sortie,
    add_source,
    find_source,
    is_bare_sortie,
    keep_log,
    packed_file,
    select_points,
    sorties_of_source,
    stored_flights,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def known_reduction(session: Session, sha256: str, path: Path, given: Given) -> Reduction | None:
    """Return what the store says of the points of a file, None if it has none of them.

    A file of which only climbs or glides are stored is still to be reduced.

    Args:
        path: The file at hand.

    Returns:
        None also where only its climbs and glides were reduced; else with what is given now
        otherwise than it is stored, and a warning of that.

    Raises:
        DataError: If the content is stored for another airframe.
    """
    known = find_source(session, sha256)
    if known is None:
        return None
    sorties = sorties_of_source(session, known)
    refuse_known_elsewhere(path.name, sorties, given.details.airframe)
    if sorties and all(is_bare_sortie(session, sortie.sortie_id) for sortie in sorties):
        return None
    mine = [sortie for sortie in sorties if sortie.airframe == given.details.airframe]
    known_flight = _nothing_added(session, known.kind, mine, path.name, given.details)
    flights = [f for f in stored_flights(session, sha256) if f.sortie_id == known_flight.sortie_id]
    if not flights:
        return known_flight
    others = changed_options(flights[0], known_flight.technique, known_flight.flap_setting, given)
    if not others:
        return known_flight
    options = ", ".join(dict.fromkeys(other.option for other in others))
    warning = f"{path.name}: is stored with another {options}; asking again changes nothing"
    return replace(
        known_flight,
        warnings=(*known_flight.warnings, warning),
        asked_otherwise=others,
        again_words=words_again(path, others),
    )


def _nothing_added(
    session: Session, kind: str, sorties: list[SortieLine], name: str, details: FlightDetails
) -> Reduction:
    sortie = sorties[0] if sorties else None
    number = sortie.sortie_id if sortie else None
    rows = [
        row
        for row in select_points(session, PointFilter(airframe=details.airframe))
        if row.sortie_id == number
    ]
    return Reduction(
        airframe=details.airframe,
        source=name,
        flown_on=sortie.flown_on if sortie else None,
        weight_kg=sortie.weight_kg if sortie else None,
        flap_setting=rows[0].flap_setting if rows else details.flap_setting,
        technique=rows[0].technique if rows else SOLVED_BY[details.solve_by],
        track_reference=rows[0].track_reference if rows else "unknown",
        airspeed_from=None,
        legs_found=None,
        legs=(),
        runs=(),
        refused=(),
        warnings=(),
        stored=False,
        known_already=True,
        sortie_id=number,
        source_kind=kind,
        points_known=len(rows),
    )


def keep_reduction(
    session: Session,
    flight: Flight,
    result: Reduction,
    details: FlightDetails,
    document: dict[str, Any],
    packed: PackedLog | None = None,
) -> Reduction:
    """Put a reduction into the store, all or nothing.

    Args:
        session: Of a writing transaction.
        details: With airframe, day and a weight of every run.
        document: What the points rest on.
        packed: The log, if it is to be kept.

    Returns:
        As it is stored.

    Raises:
        RepeatedFlightError: If the store has the flight from another file and nobody said what it
            is.
    """
    assert details.airframe is not None  # the caller has filled in what was open
    assert result.flown_on is not None
    assert result.weight_kg is not None
    sortie = NewSortie(
        airframe=details.airframe,
        flown_on=result.flown_on,
        weight_kg=result.weight_kg,
        track_reference=result.track_reference,
        settings_json=json.dumps(document, sort_keys=True),
        note=details.note,
    )
    flown = result.flown(flight.flown_on)
    replaced = settle_repeat(session, flown, flight.source_name, flight.sha256, details.repeat)
    legs = [new_leg(leg) for leg in result.legs]
    points = [new_point(run) for run in result.runs]
    source = find_source(session, flight.sha256)
    if source is None or not sorties_of_source(session, source):
        source = add_source(session, flight.sha256, flight.source_name, flight.kind)
    number = add_sortie(session, source, sortie, legs, points).id
    if packed is not None:
        keep_log(session, packed)
    warnings = (*result.warnings, *replaced)
    return replace(result, stored=True, sortie_id=number, warnings=warnings, replaced=replaced)


@contextmanager
def packed_if(keep_log: bool, path: Path, sha256: str) -> Iterator[PackedLog | None]:
    """Pack a file that is being reduced, if it is to be kept.

    Args:
        sha256: That it had when it was read.

    Raises:
        DataError: If the file was changed meanwhile.
    """
    if not keep_log:
        yield None
        return
    with packed_file(path) as packed:
        if packed.sha256 != sha256:
            raise DataError(f"{path.name}: was changed while it was read", "do it again")
        yield packed
