"""Reduce one flight: find runs, solve them, and keep the points in the store."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import DataError
from fleetcal.services.flights.borrowed_scatter import borrowed_scatter
from fleetcal.services.flights.changed_options import Given
from fleetcal.services.flights.flight_file import FlightFile
from fleetcal.services.flights.keep_reduction import (
    keep_reduction,
    known_reduction,
    packed_if,
)
from fleetcal.services.flights.known_to_store import held_against_store
from fleetcal.services.flights.prepare_flight import (
    PreparedFlight,
    kept_document,
    prepare_flight,
    prepare_preview,
    read_chosen,
    solve_prepared,
)
from fleetcal.services.flights.reduction import FlightDetails, HandChoices, Reduction, RefusedRun
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.repeated_flight import settle_repeat
from fleetcal.store import (
    Store,
    Touching,
    find_airframe,
    keep_log,
)

if TYPE_CHECKING:
    from fleetcal.services.flights.draw_flight import FlightOutlet

__all__ = [
    "FlightDetails",
    "Given",
    "HandChoices",
    "Reduction",
    "RefusedRun",
    "preview_flight",
    "reduce_flight",
]


def preview_flight(
    path: Path,
    details: FlightDetails,
    settings: ReductionSettings,
    figure: FlightOutlet | None = None,
) -> Reduction:
    """Reduce a flight without any store.

    Args:
        figure: Where a figure or the report goes.

    Raises:
        DataError: If the file cannot be read or gives no run, or the figure cannot be written.
    """
    chosen = read_chosen(path, details, settings)
    prepared = prepare_preview(chosen, details, settings)
    return drawn(prepared, solve_prepared(prepared, None).result, figure)


def reduce_flight(
    store: Store,
    path: Path,
    details: FlightDetails,
    settings: ReductionSettings,
    figure: FlightOutlet | None = None,
    given: Given | None = None,
) -> Reduction:
    """Reduce a flight and keep its points, all or nothing.

    Args:
        details: With the airframe's tag.
        figure: Where a figure or the report goes. It is written before the points are kept, so
            that nothing is kept without it.
        given: What of the details and settings somebody asked for, to be held against a flight that
            is stored already; what differs from the defaults when left out.

    Returns:
        With `known_already` when the same content was reduced before.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If the file cannot be read, gives no run, has no date, or was stored for another
            airframe, or the figure cannot be written.
        RepeatedFlightError: If the store has the flight from another file and nobody said what it
            is.
    """
    if details.airframe is None:
        raise DataError("no airframe was named", "give its tag with --airframe")
    with store.reading() as session:
        airframe = find_airframe(session, details.airframe)
        details = replace(details, air=details.air.on(airframe))
    chosen = read_chosen(path, details, settings)
    with store.reading() as session:
        known = known_reduction(session, chosen.flight.sha256, path, given or Given(details))
        if known is None:
            prepared = prepare_flight(session, chosen, details, settings)
            borrowed = borrowed_scatter(session)
    if known is not None:
        return _log_kept(store, path, details, chosen.flight.sha256, _undrawn(known, figure))
    solved = solve_prepared(prepared, borrowed).result
    solved = held_against_store(store, solved, prepared.flight.sha256)
    sha256 = prepared.flight.sha256
    if figure is not None and not details.repeat:
        with store.reading() as session:
            settle_repeat(session, solved.flown(prepared.flight.flown_on), path.name, sha256)
    result = drawn(prepared, solved, figure)
    document = kept_document(prepared, borrowed, result)
    with packed_if(details.keep_log, path, sha256) as packed:
        return store.write(
            lambda session: keep_reduction(
                session,
                prepared.flight,
                result,
                details=prepared.details,
                document=document,
                packed=packed,
            ),
            Touching(airframes=(airframe.tag,)),
        )


def drawn(prepared: PreparedFlight, result: Reduction, figure: FlightOutlet | None) -> Reduction:
    """Draw a reduction if that was asked for."""
    if figure is None:
        return result
    from fleetcal.services.flights.draw_flight import draw_reduction

    return draw_reduction(prepared, result, figure)


def _log_kept(
    store: Store, path: Path, details: FlightDetails, sha256: str, known: Reduction
) -> Reduction:
    """Keep the log of a flight that is in the store already, if that was asked for."""
    with packed_if(details.keep_log, path, sha256) as packed:
        if packed is None:
            return known
        added = store.write(lambda session: keep_log(session, packed), Touching(files=(sha256,)))
    return replace(known, notes=(*known.notes, "The log is kept now.")) if added else known


def _undrawn(known: Reduction, figure: FlightOutlet | None) -> Reduction:
    if not isinstance(figure, FlightFile):
        return known
    warning = (
        "no figure is drawn and no report written of a flight that is stored already; --preview "
        "makes it, without bench checks"
    )
    return replace(known, warnings=(*known.warnings, warning))
