"""Level runs with a power, read from the store and sorted by engine and propeller."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.groups import (
    find_type,
)
from fleetcal.services.curves.large_enough import fliers_of, large_enough, too_few_words
from fleetcal.services.performance.cruise_runs import (
    CruiseRuns,
    cruise_points,
    cruise_runs,
    middle_scaling_kt,
    why_not,
)
from fleetcal.store import (
    CruiseRow,
    CruiseTableDescription,
    PointFilter,
    Store,
    TypeDescription,
    find_airframe,
    load_cruise_tables,
    load_description,
    select_cruise,
)


@dataclass(frozen=True, kw_only=True)
class CruiseRequest:
    """Which cruise is asked for.

    Attributes:
        pairing: ``engine / propeller``; the only one when None.
        airframe: Tag, for the cruise of this airframe alone.
        power_pct, altitude_ft: Lines beside those of handbooks.
    """

    pairing: str | None = None
    airframe: str | None = None
    type: str | None = None
    flap_setting: str = "up"
    power_pct: tuple[float, ...] = ()
    altitude_ft: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class KnownCruise:
    """Usable runs of a type, the pairing asked for, and its handbook tables.

    Attributes:
        pairings: One for each group of `points`.
        airframes: One for each aircraft of `points`.
        rows: In the order of `runs` and `points`.
        notes: What was left out, and why.
    """

    type: TypeDescription
    pairing: str
    pairings: tuple[str, ...]
    airframes: tuple[str, ...]
    rows: tuple[CruiseRow, ...]
    runs: CruiseRuns
    points: FleetPoints
    books: tuple[CruiseTableDescription, ...]
    notes: tuple[str, ...]


def pairing_of(row: CruiseRow) -> str:
    """Return the name of a run's engine and propeller."""
    return f"{row.point.engine} / {row.point.propeller}"


def gather_cruise(store: Store, request: CruiseRequest) -> KnownCruise:
    """Read the usable runs with a power, and sort them by pairing.

    Raises:
        UnknownNameError: If type, airframe or pairing are not there.
        DataError: If several pairings could be meant.
        FitError: If no run is usable, or no pairing was flown by three airframes.
    """
    with store.reading() as session:
        kind = find_type(load_description(session), request.type)
        if request.airframe is not None:
            find_airframe(session, request.airframe)
        wanted = PointFilter(
            type=kind.name, flap_setting=request.flap_setting, airframe=request.airframe
        )
        found = select_cruise(session, wanted)
        books = load_cruise_tables(session)
    against = [(row, why_not(row)) for row in found]
    rows = [row for row, why in against if not why]
    notes = list(count_reasons((row.point.airframe, why) for row, why in against if why))
    if not rows:
        raise FitError(
            f"no usable run with a power, flaps {request.flap_setting}, is in the store"
            + (f": {notes[0]}" if notes else ""),
            "note the power of runs with 'fleetcal power'",
        )
    pairings, small = _pairings(rows, request)
    pairing = _chosen(pairings, request)
    rows = [row for row in rows if pairing_of(row) in pairings]
    members = sorted({(pairing_of(row), row.point.airframe) for row in rows})
    number = {member: i for i, member in enumerate(members)}
    runs = cruise_runs(
        rows,
        kind.reference_weight_kg,
        [number[pairing_of(row), row.point.airframe] for row in rows],
        [pairings.index(name) for name, _ in members],
    )
    mine = [b for b in books if b.type == kind.name and f"{b.engine} / {b.propeller}" == pairing]
    tags = tuple(tag for _, tag in members)
    points = cruise_points(runs, middle_scaling_kt(runs))
    said = (*small, *notes)
    return KnownCruise(
        type=kind,
        pairing=pairing,
        pairings=tuple(pairings),
        airframes=tags,
        rows=tuple(rows),
        runs=runs,
        points=points,
        books=tuple(mine),
        notes=said,
    )


def _pairings(rows: Sequence[CruiseRow], request: CruiseRequest) -> tuple[list[str], list[str]]:
    """Return the pairings that can be told, and in words which were flown by too few."""
    fliers = fliers_of((pairing_of(row), row.point.airframe) for row in rows)
    if request.airframe is not None:
        chosen = request.pairing.strip().casefold() if request.pairing else None
        mine = [p for p in sorted(fliers) if chosen in (None, p.casefold())]
        return mine or sorted(fliers), []
    large = large_enough(fliers)
    if not large:
        raise FitError(
            f"no pairing has runs with a power of {FEWEST_AIRCRAFT} airframes; the largest has "
            f"{max(map(len, fliers.values()))}",
            "note the power of more airframes' runs, or ask for one airframe with --airframe",
        )
    return large, list(too_few_words(fliers))


def _chosen(pairings: list[str], request: CruiseRequest) -> str:
    if request.pairing is None:
        if len(pairings) > 1:
            raise DataError(
                f"several pairings were flown: {'; '.join(pairings)}", "name one of them"
            )
        return pairings[0]
    names = [name.casefold() for name in pairings]
    if request.pairing.strip().casefold() not in names:
        raise UnknownNameError(
            f"no pairing {request.pairing!r} has enough runs with a power",
            f"known: {'; '.join(pairings)}",
        )
    return pairings[names.index(request.pairing.strip().casefold())]
