"""Reduce one flight: find runs, solve them, and keep the points in the store."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import DataError, NoRunError
from fleetcal.services.bench_corrections import BenchInForce, bench_in_force
from fleetcal.services.borrowed_scatter import borrowed_scatter
from fleetcal.services.checked_flight import CheckedFlight, apply_bench
from fleetcal.services.flight_day import day_of_flight, day_warnings
from fleetcal.services.read_flight import Flight, PlannedRun, read_flight
from fleetcal.services.reduced_rows import new_leg, new_point
from fleetcal.services.settings_file import ReductionSettings, settings_document
from fleetcal.services.solve_manoeuvre import solve_flown_manoeuvre
from fleetcal.services.solve_run import LegLine, RunLine, SolvedRun, solve_run
from fleetcal.services.yardstick_words import yardstick_line
from fleetcal.store import (
    GPS_LEGS,
    GPS_MANOEUVRE,
    NewSortie,
    SourceFile,
    Store,
    add_sortie,
    add_source,
    find_airframe,
    find_source,
    fit_in_force,
    sorties_of_source,
)


@dataclass(frozen=True)
class FlightDetails:
    """What the file does not say about a flight.

    Attributes
    ----------
    airframe : str or None
        Tag; None only for a preview.
    weight_kg : float or None
        The type's reference weight is taken, with a warning, when None.
    flown_on : date or None
        Overrides the date in the file.
    flap_setting : str
    airspeed_from : str or None
        Which airspeed of the file to use.
    note : str
    declination_deg : float or None
        Added to magnetic tracks to make them true, deg, east positive.
    solve_by : str
        ``legs``, or ``manoeuvres`` for every sample of steady turns and boxes.
    """

    airframe: str | None
    weight_kg: float | None = None
    flown_on: date | None = None
    flap_setting: str = "up"
    airspeed_from: str | None = None
    note: str = ""
    declination_deg: float | None = None
    solve_by: str = "legs"


@dataclass(frozen=True)
class RefusedRun:
    """Legs that were not solved, and why."""

    run: int
    leg_count: int | None
    reason: str


@dataclass(frozen=True)
class Reduction:
    """Result of reducing one flight.

    Attributes
    ----------
    airframe, source, flown_on, weight_kg, flap_setting
        What was reduced.
    technique : str
    track_reference : str
        North that tracks and wind directions count from, as far as known.
    airspeed_from : str
        Column that the airspeed was taken from.
    legs_found : int
    legs : tuple of LegLine
        Of the solved runs.
    runs : tuple of RunLine
    refused : tuple of RefusedRun
    warnings : tuple of str
    stored : bool
    known_already : bool
        The same content was in the store; nothing was added.
    sortie_id : int or None
    notes : tuple of str
        Which bench checks were applied, and what had to be supposed.
    yardstick : str
        The results beside limits that rules have had, for information.
    """

    airframe: str | None
    source: str
    flown_on: date | None
    weight_kg: float | None
    flap_setting: str
    technique: str
    track_reference: str
    airspeed_from: str
    legs_found: int
    legs: tuple[LegLine, ...]
    runs: tuple[RunLine, ...]
    refused: tuple[RefusedRun, ...]
    warnings: tuple[str, ...]
    stored: bool
    known_already: bool
    sortie_id: int | None
    notes: tuple[str, ...] = ()
    yardstick: str = ""


def preview_flight(path: Path, details: FlightDetails, settings: ReductionSettings) -> Reduction:
    """Reduce a flight without any store.

    Parameters
    ----------
    path : Path
    details : FlightDetails
    settings : ReductionSettings

    Returns
    -------
    Reduction

    Raises
    ------
    DataError
        If the file cannot be read or gives no run.
    """
    flight = read_flight(path, settings, details.airspeed_from, details.declination_deg)
    result = _reduce(flight, details, settings.uncertainty)
    return replace(result, notes=("A preview applies no bench check.",))


def reduce_flight(
    store: Store, path: Path, details: FlightDetails, settings: ReductionSettings
) -> Reduction:
    """Reduce a flight and keep its points, all or nothing.

    Parameters
    ----------
    store : Store
    path : Path
    details : FlightDetails
        With the airframe's tag.
    settings : ReductionSettings

    Returns
    -------
    Reduction
        With `known_already` when the same content was reduced before.

    Raises
    ------
    UnknownNameError
        If the airframe is not in the store.
    DataError
        If the file cannot be read, gives no run, has no date, or was stored for
        another airframe.
    """
    if details.airframe is None:
        raise DataError("no airframe was named", "give its tag with --airframe")
    with store.reading() as session:
        reference_weight = find_airframe(
            session, details.airframe
        ).aircraft_type.reference_weight_kg
        borrowed = borrowed_scatter(session)
    flight = read_flight(path, settings, details.airspeed_from, details.declination_deg)
    with store.reading() as session:
        known = find_source(session, flight.sha256)
        if known is not None:
            return _known_already(session, known, flight, details)
    flown_on = day_of_flight(flight, details.flown_on)
    with store.reading() as session:
        fit_in_force(find_airframe(session, details.airframe), flown_on)
        bench = bench_in_force(session, details.airframe, flown_on)
    warnings = day_warnings(flight, flown_on)
    weight = details.weight_kg
    if weight is None:
        weight = reference_weight
        warnings += (f"no weight given: the type's reference weight {weight:.0f} kg is taken",)
    if settings.uncertainty.leg_scatter_mps is None:
        uncertainty = replace(settings.uncertainty, leg_scatter_mps=borrowed)
        settings = replace(settings, uncertainty=uncertainty)
    details = replace(details, weight_kg=weight, flown_on=flown_on)
    result = _reduce_checked(store, apply_bench(flight, bench), details, settings, bench)
    return replace(result, warnings=(*warnings, *result.warnings))


def _reduce_checked(
    store: Store,
    checked: CheckedFlight,
    details: FlightDetails,
    settings: ReductionSettings,
    bench: BenchInForce,
) -> Reduction:
    """Reduce a flight whose readings carry their bench corrections, and keep it."""
    uncertainty = bench.assumptions(checked.kinds, settings.uncertainty)
    result = _reduce(checked.flight, details, uncertainty)
    result = replace(
        result,
        runs=tuple(replace(r, terms=bench.noted(checked.kinds, r.terms)) for r in result.runs),
        warnings=(*checked.warnings, *result.warnings),
        notes=bench.told(checked.kinds, uncertainty),
    )
    settings = replace(settings, uncertainty=uncertainty)
    applied = bench.document(checked.kinds)
    sortie_id = _keep(store, checked.flight, result, settings, details, applied)
    return replace(result, stored=True, sortie_id=sortie_id)


def _known_already(
    session: Session, known: SourceFile, flight: Flight, details: FlightDetails
) -> Reduction:
    sorties = sorties_of_source(session, known)
    owners = {sortie.airframe for sortie in sorties}
    if owners and details.airframe not in owners:
        raise DataError(
            f"{flight.source_name}: the same content is stored for {', '.join(sorted(owners))}",
            "check which airframe flew it",
        )
    sortie = sorties[0] if sorties else None
    return Reduction(
        details.airframe,
        flight.source_name,
        sortie.flown_on if sortie else None,
        sortie.weight_kg if sortie else None,
        details.flap_setting,
        GPS_LEGS if details.solve_by == "legs" else GPS_MANOEUVRE,
        flight.track_reference,
        flight.airspeed_from,
        flight.leg_count,
        (),
        (),
        (),
        (f"the same content is in the store already, as {known.name}; nothing was added",),
        stored=False,
        known_already=True,
        sortie_id=sortie.sortie_id if sortie else None,
    )


def _reduce(flight: Flight, details: FlightDetails, assumptions: Assumptions) -> Reduction:
    if details.solve_by == "manoeuvres":
        return _reduce_manoeuvres(flight, details, assumptions)
    solved: list[tuple[PlannedRun, SolvedRun]] = []
    refused: list[RefusedRun] = []
    number = 0
    for planned in flight.runs:
        number += 1
        if planned.refusal:
            refused.append(RefusedRun(number, len(planned.legs), planned.refusal))
            continue
        run = solve_run(number, planned.legs, flight.steps, assumptions)
        if run.line is None:
            refused.append(RefusedRun(number, len(planned.legs), run.reason))
        else:
            solved.append((planned, run))
    if not solved:
        raise _no_run(flight, refused)
    return _result(
        flight,
        replace(details, flap_setting=_flaps(solved, details)),
        tuple(leg for _, run in solved for leg in run.legs),
        tuple(run.line for _, run in solved if run.line is not None),
        tuple(refused),
    )


def _reduce_manoeuvres(
    flight: Flight, details: FlightDetails, assumptions: Assumptions
) -> Reduction:
    lines, refused = [], []
    for number, flown in enumerate(flight.manoeuvres, 1):
        solved = solve_flown_manoeuvre(number, flown, flight.steps, assumptions)
        if solved.line is None:
            refused.append(RefusedRun(number, None, solved.reason))
        else:
            lines.append(solved.line)
    if not lines:
        why = f": {refused[0].reason}" if refused else ""
        raise NoRunError(
            f"{flight.source_name}: no steady turn or box at one airspeed to solve{why}",
            "fly a full circle or a box at one power setting and airspeed",
        )
    return _result(flight, details, (), tuple(lines), tuple(refused))


def _result(
    flight: Flight,
    details: FlightDetails,
    legs: tuple[LegLine, ...],
    lines: tuple[RunLine, ...],
    refused: tuple[RefusedRun, ...],
) -> Reduction:
    return Reduction(
        details.airframe,
        flight.source_name,
        details.flown_on or flight.flown_on,
        details.weight_kg,
        details.flap_setting,
        GPS_LEGS if details.solve_by == "legs" else GPS_MANOEUVRE,
        flight.track_reference,
        flight.airspeed_from,
        flight.leg_count,
        legs,
        lines,
        refused,
        flight.warnings,
        stored=False,
        known_already=False,
        sortie_id=None,
        yardstick=yardstick_line(
            [line.vic_kt for line in lines], [line.vic_kt + line.dvpc_kt for line in lines]
        ),
    )


def _flaps(solved: list[tuple[PlannedRun, SolvedRun]], details: FlightDetails) -> str:
    written = {planned.flap_setting for planned, _ in solved if planned.flap_setting}
    if len(written) > 1:
        raise DataError(
            f"the sheet mixes flap settings {', '.join(sorted(written))}",
            "reduce one sheet for each flap setting",
        )
    return written.pop() if written else details.flap_setting


def _no_run(flight: Flight, refused: list[RefusedRun]) -> NoRunError:
    count = f"{flight.leg_count} steady legs" if flight.leg_count != 1 else "1 steady leg"
    why = f": {refused[0].reason}" if refused else ""
    return NoRunError(
        f"{flight.source_name}: {count} found, no run of three tracks to solve{why}",
        "fly at least three legs at one speed and altitude on tracks spread around the compass",
    )


def _keep(
    store: Store,
    flight: Flight,
    result: Reduction,
    settings: ReductionSettings,
    details: FlightDetails,
    bench: dict[str, Any],
) -> int:
    assert details.airframe is not None  # the caller has filled in what was open
    assert details.flown_on is not None
    assert details.weight_kg is not None
    document = {
        **settings_document(settings),
        "airspeed_from": result.airspeed_from,
        "bench": bench,
    }
    settings_json = json.dumps(document, sort_keys=True)
    sortie = NewSortie(
        details.airframe,
        details.flown_on,
        details.weight_kg,
        result.track_reference,
        settings_json,
        details.note,
    )
    legs = [new_leg(leg) for leg in result.legs]
    points = [
        new_point(i, run, result.technique, result.flap_setting, details.weight_kg)
        for i, run in enumerate(result.runs, 1)
    ]
    with store.writing() as session:
        source = add_source(session, flight.sha256, flight.source_name, flight.kind)
        return add_sortie(session, source, sortie, legs, points).id
