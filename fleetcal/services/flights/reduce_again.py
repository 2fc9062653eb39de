"""Reduce stored flights again, show what would change, and replace them if told to.

Legs move by seconds when a method changes, so points are matched by time
(`store/exchange/same_runs.py`) and what somebody decided stays with the same run. Stored
settings have nine decimals: values within a millionth are alike, and a flight that is alike
is not touched. The borrowed scatter of that time is used again; bench checks are those in
force now; choices by number count only while the legs found are the same. All flights are
replaced in one transaction, after one more look that nothing has changed.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fleetcal.errors import DataError, FleetcalError, StoreError, UnknownNameError
from fleetcal.flightlog.file_bytes import hash_of
from fleetcal.records import Leg, Point
from fleetcal.services.flights.again_lines import (
    ALIKE,
    FAILED,
    REPLACED,
    WOULD_CHANGE,
    AgainFlight,
    AgainPoint,
    AgainReduction,
    Compared,
    compared,
)
from fleetcal.services.flights.air_words import air_moved
from fleetcal.services.flights.borrowed_scatter import borrowed_scatter
from fleetcal.services.flights.known_to_store import held_against_store
from fleetcal.services.flights.prepare_flight import (
    PreparedFlight,
    kept_document,
    prepare_flight,
    read_chosen,
    solve_prepared,
)
from fleetcal.services.flights.reduced_rows import new_leg, new_point
from fleetcal.services.flights.reduction import Reduction
from fleetcal.services.flights.stored_request import NewRequest, StoredRequest, stored_request
from fleetcal.services.kept_file import kept_file
from fleetcal.store import (
    NewSortie,
    Store,
    StoredFlight,
    Touching,
    find_airframe,
    find_log,
    stored_flights,
)
from fleetcal.store.exchange.replace_flight import StoredReduction, replace_flight, stored_reduction

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

#: What fits one flight only.
ONE_FLIGHT = (
    *("choices", "weight_kg", "takeoff_weight_kg", "fuel_used_kg_per_h", "flown_on", "note"),
)


@dataclass(frozen=True)
class StoredFlightChoice:
    """Which flights are reduced again; None asks for nothing in particular.

    Attributes:
        airframe: Tag.
        log: The file itself, or the name of a log that is kept. Without it, all whose log is kept.
    """

    airframe: str | None = None
    sortie_id: int | None = None
    log: Path | None = None


@dataclass(frozen=True, kw_only=True)
class _Solved:
    kept: StoredReduction
    sortie: NewSortie
    legs: list[Leg]
    points: list[Point]
    compared: Compared
    warnings: tuple[str, ...]
    moved: tuple[str, ...]


def reduce_again(
    store: Store, choice: StoredFlightChoice, new: NewRequest, *, replacing: bool = False
) -> AgainReduction:
    """Reduce stored flights again; replace those that change only if told to.

    Args:
        new: What is asked otherwise than when the flights were stored.
        replacing: Whether what changes is stored, all of it in one transaction.

    Returns:
        A flight that cannot be reduced stays as it is and does not stop the others.

    Raises:
        UnknownNameError: If the airframe, sortie or log is not in the store.
        DataError: If what is asked fits one flight and there are several, or no log is at hand.
    """
    flights = _chosen(store, choice)
    given = sorted(new.details.keys() & set(ONE_FLIGHT))
    if len(flights) > 1 and given:
        raise DataError(
            f"{', '.join(given)} cannot be the same for {len(flights)} flights",
            "name one by its file or with --sortie",
        )
    done: list[tuple[StoredFlight, _Solved | FleetcalError]] = []
    for flight in flights:
        try:
            done.append((flight, _solved(store, flight, choice.log, new)))
        except (DataError, StoreError) as error:
            done.append((flight, error))
    changed = [
        found for _, found in done if isinstance(found, _Solved) and not found.compared.is_alike
    ]
    if replacing and changed:

        def work(session: Session) -> None:
            for found in changed:
                replace_flight(
                    session,
                    found.kept,
                    found.sortie,
                    legs=found.legs,
                    points=found.points,
                    decided=found.compared.decided,
                )

        store.write(work, Touching(sorties=[flight.sortie_id for flight, _ in done]))
    points: list[AgainPoint] = []
    for _, outcome in done:
        points += outcome.compared.points if isinstance(outcome, _Solved) else ()
    lines = tuple(_outcome_line(flight, found, replacing) for flight, found in done)
    return AgainReduction(lines, tuple(points))


def _outcome_line(
    flight: StoredFlight, found: _Solved | FleetcalError, replacing: bool
) -> AgainFlight:
    line = AgainFlight(
        sortie_id=flight.sortie_id, airframe=flight.airframe, file=flight.file, outcome=FAILED
    )
    if not isinstance(found, _Solved):
        return replace(line, error=found.message, hint=found.hint)
    outcome = REPLACED if replacing else WOULD_CHANGE
    outcome = ALIKE if found.compared.is_alike else outcome
    return replace(line, outcome=outcome, warnings=found.warnings, moved=found.moved)


def _chosen(store: Store, choice: StoredFlightChoice) -> list[StoredFlight]:
    with store.reading() as session:
        if choice.airframe is not None:
            find_airframe(session, choice.airframe)
        flights = stored_flights(session)
        sha256 = None
        if choice.log is not None:
            is_file = choice.log.is_file()
            sha256 = hash_of(choice.log) if is_file else find_log(session, str(choice.log)).sha256
    found = [
        flight
        for flight in flights
        if choice.airframe in (None, flight.airframe)
        and choice.sortie_id in (None, flight.sortie_id)
        and sha256 in (None, flight.sha256)
    ]
    if not found:
        raise UnknownNameError(
            "no stored flight matches that choice",
            "'fleetcal points list' shows the flights; points of other techniques have no log",
        )
    at_hand = [flight for flight in found if flight.is_kept or sha256 is not None]
    if not at_hand:
        raise DataError(
            f"no log of the {len(found)} flights is kept",
            "name the file of the log, or keep logs with 'fleetcal logs keep'",
        )
    return at_hand


@contextmanager
def _file_of(store: Store, flight: StoredFlight, log: Path | None) -> Iterator[tuple[Path, Path]]:
    """Yield the log of a flight, and a folder for what else must be read as a file."""
    with tempfile.TemporaryDirectory(prefix="fleetcal-") as name:
        if log is not None and log.is_file():
            yield log, Path(name)
            return
        with kept_file(store, flight.sha256) as path:
            yield path, Path(name)


def _solved(store: Store, flight: StoredFlight, log: Path | None, new: NewRequest) -> _Solved:
    with store.reading() as session:
        kept = stored_reduction(session, flight.sha256, flight.airframe, flight.sortie_id)
        airframe = find_airframe(session, flight.airframe)
    with _file_of(store, flight, log) as (path, folder):
        request = stored_request(flight, kept.points, folder, new)
        request = replace(
            request, details=replace(request.details, air=request.details.air.on(airframe))
        )
        chosen = read_chosen(path, request.details, request.settings)
    if request.choices is not None:
        chosen = replace(chosen, document=request.choices)
    _refuse_lost_north(flight, chosen.flight.track_reference)
    with store.reading() as session:
        prepared = prepare_flight(session, chosen, request.details, request.settings)
        # A stored flight has what it borrowed among its settings.
        borrowed = borrowed_scatter(session) if new.settings is not None else None
    result = solve_prepared(prepared, borrowed).result
    result = held_against_store(store, result, flight.sha256)
    document = kept_document(prepared, borrowed, result)
    return _compared_with_stored(
        flight, kept, request, prepared=prepared, result=result, document=document
    )


def _compared_with_stored(
    flight: StoredFlight,
    kept: StoredReduction,
    request: StoredRequest,
    prepared: PreparedFlight,
    result: Reduction,
    document: Mapping[str, Any],
) -> _Solved:
    assert result.flown_on is not None
    assert result.weight_kg is not None  # the stored flight has one
    legs = [new_leg(leg) for leg in result.legs]
    points = [new_point(run) for run in result.runs]
    if _numbers_count(request):
        _refuse_other_legs(flight, kept, legs)
    sortie = NewSortie(
        airframe=flight.airframe,
        flown_on=result.flown_on,
        weight_kg=result.weight_kg,
        track_reference=result.track_reference,
        settings_json=json.dumps(document, sort_keys=True),
        note=prepared.details.note,
    )
    point_values = [asdict(point) for point in points]
    comparison = compared(
        flight.sortie_id, flight.file, kept, [asdict(leg) for leg in legs], point_values
    )
    moved = air_moved(json.loads(flight.settings_json), document)
    return _Solved(
        kept=kept,
        sortie=sortie,
        legs=legs,
        points=points,
        compared=comparison,
        warnings=result.warnings,
        moved=moved,
    )


def _numbers_count(request: StoredRequest) -> bool:
    """Tell whether stored choices name legs and runs by the numbers that were found then."""
    return request.choices is not None and "leg_list" not in request.choices


def _refuse_lost_north(flight: StoredFlight, reference: str) -> None:
    if reference != flight.track_reference:
        raise DataError(
            f"{flight.file}: stored with tracks from {flight.track_reference} north, and the log's "
            f"are {reference}",
            "give the declination again with --declination-deg",
        )


def _refuse_other_legs(flight: StoredFlight, kept: StoredReduction, legs: list[Leg]) -> None:
    """Refuse to apply choices by number where the numbers may mean other legs now."""
    now = {(leg.run_number, leg.leg_number): (leg.start_s, leg.stop_s) for leg in legs}
    then = {
        (leg["run_number"], leg["leg_number"]): (leg["start_s"], leg["stop_s"]) for leg in kept.legs
    }
    if now != then:
        raise DataError(
            f"{flight.file}: legs were left out by hand, and the legs found now are others",
            "choose again with --drop, --keep or --legs",
        )
