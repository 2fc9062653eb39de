"""The first flight of an airframe that is not in the store: both are kept, or neither.

Everything is worked out beside the store, on one that is thrown away, so that a flight that
cannot be reduced leaves no airframe without flights, and no store without anything.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from fleetcal.services.chosen_store import StorePlace, store_at
from fleetcal.services.flights.borrowed_scatter import borrowed_scatter
from fleetcal.services.flights.changed_options import Given
from fleetcal.services.flights.keep_reduction import keep_reduction, known_reduction, packed_if
from fleetcal.services.flights.prepare_flight import (
    PreparedFlight,
    kept_document,
    prepare_flight,
    read_chosen,
    solve_prepared,
)
from fleetcal.services.flights.reduce_flight import drawn
from fleetcal.services.flights.reduction import FlightDetails, Reduction
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.store import Store, find_airframe, open_store, revise_description
from fleetcal.store.undescribed import undescribed_airframe

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from fleetcal.services.flights.draw_flight import FlightOutlet


def reduce_new_airframe(
    where: StorePlace,
    path: Path,
    details: FlightDetails,
    settings: ReductionSettings,
    figure: FlightOutlet | None = None,
    *,
    begin: bool = False,
) -> Reduction:
    """Reduce a flight of an airframe that is not in the store, and keep both, all or nothing.

    Args:
        where: Place of the store, or the store itself.
        details: With the airframe's tag.
        figure: Where to draw what was found.
        begin: Whether there is no store yet, and one is begun.

    Raises:
        DataError: If the file cannot be read, gives no run, has no date, or was stored for another
            airframe, or the figure cannot be written.
    """
    assert details.airframe is not None  # somebody confirmed it
    weight_kg = details.weight_kg or details.takeoff_weight_kg
    new = undescribed_airframe(details.airframe, weight_kg)
    with TemporaryDirectory() as folder, open_store(Path(folder) / "trial.sqlite3") as trial:
        trial.write(lambda session: revise_description(session, new))
        prepared = _prepared(trial, path, details, settings)
    borrowed = None if begin else _borrowed(where, prepared, path, details)
    result = drawn(prepared, solve_prepared(prepared, borrowed).result, figure)
    document = kept_document(prepared, borrowed, result)
    sha256 = prepared.flight.sha256
    with (
        packed_if(details.keep_log, path, sha256) as packed,
        store_at(where, create=begin) as store,
    ):

        def work(session: Session) -> Reduction:
            revise_description(session, new)
            return keep_reduction(
                session,
                prepared.flight,
                result,
                details=prepared.details,
                document=document,
                packed=packed,
            )

        return store.write(work)


def _prepared(
    trial: Store, path: Path, details: FlightDetails, settings: ReductionSettings
) -> PreparedFlight:
    assert details.airframe is not None  # likewise
    with trial.reading() as session:
        details = replace(details, air=details.air.on(find_airframe(session, details.airframe)))
    chosen = read_chosen(path, details, settings)
    with trial.reading() as session:
        return prepare_flight(session, chosen, details, settings)


def _borrowed(
    where: StorePlace, prepared: PreparedFlight, path: Path, details: FlightDetails
) -> float | None:
    """Return the leg scatter of earlier runs; refuse a file that another airframe flew."""
    with store_at(where, create=False) as store, store.reading() as session:
        known_reduction(session, prepared.flight.sha256, path, Given(details))
        return borrowed_scatter(session)
