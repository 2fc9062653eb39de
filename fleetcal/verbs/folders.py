"""The verb that reduces a folder of recorded flights."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import DataError
from fleetcal.verbs.answer import Answer, cautioned, doubts_and_notes
from fleetcal.verbs.checked import Day, count_within, day_of, not_both
from fleetcal.verbs.stores import StorePlace, opened

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import Store
    from fleetcal.services.flights.folder_crew import Crew
    from fleetcal.services.flights.folder_list import FolderFlight
    from fleetcal.services.flights.reduce_folder import FolderReduction
    from fleetcal.services.flights.reduction import FlightDetails

_MOST_PROCESSES = 32


def reduce_folder(
    folder: str | Path,
    *,
    airframe: str | None = None,
    flights: str | Path | None = None,
    store: StorePlace = None,
    weight_kg: float | None = None,
    date: Day | None = None,
    flap_setting: str = "up",
    note: str = "",
    mapping: str | Path | None = None,
    airspeed_from: str | None = None,
    declination_deg: float | None = None,
    oat_degc: float | None = None,
    altimeter_setting: float | None = None,
    temperature_shows: str | None = None,
    recovery_factor: float | None = None,
    humidity_pct: float | None = None,
    dew_point_degc: float | None = None,
    settings: str | Path | None = None,
    keep_log: bool = False,
    heading: str = "ignored",
    solve_by: str = "legs",
    processes: int | None = None,
    workers_at: str | None = None,
    executor: Executor | None = None,
) -> Answer[FolderReduction]:
    """Reduce every flight of a folder, or those on a list, and keep them.

    What is in the store already is passed over, so that the same again goes on after an
    interruption. What the store holds in the end does not depend on who computes.

    Args:
        airframe: That flew them all; or where the list is silent.
        flights: CSV file that names the files, and what is known of each.
        oat_degc, altimeter_setting, humidity_pct: As `reduce` takes them, for every flight.
        processes: Of this machine, that compute; with an executor, how many flights it works on at
            once.
        workers_at: Address of the scheduler of a Dask cluster, whose workers compute.
        executor: Of `concurrent.futures`, whose workers compute. Logs travel to them as bytes, and
            they need the same versions of fleetcal, numpy, scipy and pandas. It is not ended.

    Returns:
        Its `frame` has a row a file: ``outcome``, ``runs``, ``sortie_id``, and ``error`` of one
        that failed.

    Raises:
        DataError: If the folder or the list cannot be read, or an argument cannot be meant.
        StoreError: If the store is not there or cannot be written.
        WorkersError: If nobody is left to compute, or a worker's program is another one.

    Example:
        >>> with ProcessPoolExecutor(8) as workers:
        ...     print(fleetcal.reduce_folder("season", airframe="C-07", executor=workers))
    """
    from fleetcal.services.flights.reduction import FlightDetails
    from fleetcal.verbs.flight_given import checked_flight, given_air

    details = FlightDetails(
        airframe=airframe,
        weight_kg=weight_kg,
        flown_on=day_of("date", date),
        flap_setting=flap_setting,
        airspeed_from=airspeed_from,
        note=note,
        declination_deg=declination_deg,
        heading=heading,
        solve_by=solve_by,
        mapping=None if mapping is None else Path(mapping),
        keep_log=keep_log,
        air=given_air(
            temperature_shows=temperature_shows,
            recovery_factor=recovery_factor,
            humidity_pct=humidity_pct,
            dew_point_degc=dew_point_degc,
            oat_degc=oat_degc,
            altimeter_setting=altimeter_setting,
        ),
    )
    details = checked_flight(details)
    count_within("processes", processes, 1, _MOST_PROCESSES)
    if airframe is None and flights is None:
        raise DataError("nobody says who flew", "give airframe, or flights")
    with opened(store, "reduce") as one:
        found = _found(one, Path(folder), flights, details)
        with _crew(len(found), processes, workers_at, executor) as crew:
            return _reduced(one, found, settings, crew)


def _found(
    store: Store, folder: Path, flights: str | Path | None, details: FlightDetails
) -> tuple[FolderFlight, ...]:
    from fleetcal.services.flights.folder_list import flights_in_folder, flights_on_list

    if flights is None:
        return flights_in_folder(folder, details, [Path(store.label)])
    return flights_on_list(folder, Path(flights), details)


def _reduced(
    store: Store, flights: Sequence[FolderFlight], settings: str | Path | None, crew: Crew
) -> Answer[FolderReduction]:
    from fleetcal.services.flights.folder_sentences import failure_sentences, folder_sentences
    from fleetcal.services.flights.reduce_folder import reduce_folder as reduce_all
    from fleetcal.services.flights.settings_file import read_settings

    used = read_settings(None if settings is None else Path(settings))
    result = reduce_all(store, flights, used, crew)
    return Answer(
        result=result,
        sentences=tuple(folder_sentences(result)),
        rows_in="files",
        warnings=doubts_and_notes(
            tuple(failure_sentences(result)),
            [f"{line.file}: {words}" for line in result.files for words in line.warnings],
        ),
        caution=cautioned(),
    )


def _crew(
    flights: int, processes: int | None, workers_at: str | None, executor: Executor | None
) -> AbstractContextManager[Crew]:
    from fleetcal.services.flights.folder_crew import given_crew, own_crew, useful_processes

    not_both("workers_at", "executor", (workers_at, executor))
    if executor is not None:
        return nullcontext(given_crew(executor, processes))
    if workers_at is None:
        return own_crew(min(processes or useful_processes(flights), flights))
    not_both("workers_at", "processes", (workers_at, processes))
    from fleetcal.services.flights.cluster import cluster_crew

    return cluster_crew(workers_at)
