"""Reduce one flight: find runs, solve them, and keep the points in the store."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
from sqlalchemy.orm import Session

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import DataError, NoRunError
from fleetcal.services.read_flight import Flight, PlannedRun, read_flight
from fleetcal.services.settings_file import ReductionSettings, settings_document
from fleetcal.services.solve_run import LegLine, RunLine, SolvedRun, solve_run
from fleetcal.store import (
    GPS_LEGS,
    NewLeg,
    NewPoint,
    NewSortie,
    NewTerm,
    SourceFile,
    Store,
    add_sortie,
    add_source,
    find_airframe,
    find_source,
    fit_in_force,
    pooled_leg_scatter,
    sorties_of_source,
)
from fleetcal.units import to_si

#: Spare legs that earlier runs must have before their scatter is borrowed.
FEWEST_SPARE_LEGS = 10


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
    """

    airframe: str | None
    weight_kg: float | None = None
    flown_on: date | None = None
    flap_setting: str = "up"
    airspeed_from: str | None = None
    note: str = ""


@dataclass(frozen=True)
class RefusedRun:
    """Legs that were not solved, and why."""

    run: int
    leg_count: int
    reason: str


@dataclass(frozen=True)
class Reduction:
    """Result of reducing one flight.

    Attributes
    ----------
    airframe, source, flown_on, weight_kg, flap_setting
        What was reduced.
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
    """

    airframe: str | None
    source: str
    flown_on: date | None
    weight_kg: float | None
    flap_setting: str
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
    flight = read_flight(path, settings, details.airspeed_from)
    return _reduce(flight, details, settings.uncertainty)


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
        borrowed = _borrowed_scatter(session)
    flight = read_flight(path, settings, details.airspeed_from)
    with store.reading() as session:
        known = find_source(session, flight.sha256)
        if known is not None:
            return _known_already(session, known, flight, details)
    flown_on = _date_of(flight, details)
    with store.reading() as session:
        fit_in_force(find_airframe(session, details.airframe), flown_on)
    warnings: tuple[str, ...] = ()
    weight = details.weight_kg
    if weight is None:
        weight = reference_weight
        warnings = (f"no weight given: the type's reference weight {weight:.0f} kg is taken",)
    details = replace(details, weight_kg=weight, flown_on=flown_on)
    uncertainty = replace(settings.uncertainty, leg_scatter_mps=borrowed)
    if settings.uncertainty.leg_scatter_mps is not None:
        uncertainty = settings.uncertainty
    result = _reduce(flight, details, uncertainty)
    settings = replace(settings, uncertainty=uncertainty)
    sortie_id = _keep(store, flight, result, settings, details)
    return replace(result, warnings=(*warnings, *result.warnings), stored=True, sortie_id=sortie_id)


def _borrowed_scatter(session: Session) -> float | None:
    squares, spare = pooled_leg_scatter(session)
    if spare < FEWEST_SPARE_LEGS:
        return None
    return float(to_si(float(np.sqrt(squares / spare)), "kt"))


def _date_of(flight: Flight, details: FlightDetails) -> date:
    flown_on = details.flown_on or flight.flown_on
    if flown_on is None:
        raise DataError(
            f"{flight.source_name}: the file carries no date", "give the day with --date YYYY-MM-DD"
        )
    return flown_on


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
    return Reduction(
        details.airframe,
        flight.source_name,
        details.flown_on or flight.flown_on,
        details.weight_kg,
        _flaps(solved, details),
        flight.track_reference,
        flight.airspeed_from,
        flight.leg_count,
        tuple(leg for _, run in solved for leg in run.legs),
        tuple(run.line for _, run in solved if run.line is not None),
        tuple(refused),
        flight.warnings,
        stored=False,
        known_already=False,
        sortie_id=None,
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
) -> int:
    assert details.airframe is not None  # the caller has filled in what was open
    assert details.flown_on is not None
    assert details.weight_kg is not None
    settings_json = json.dumps(
        {**settings_document(settings), "airspeed_from": result.airspeed_from}, sort_keys=True
    )
    sortie = NewSortie(
        details.airframe,
        details.flown_on,
        details.weight_kg,
        result.track_reference,
        settings_json,
        details.note,
    )
    legs = [_new_leg(leg) for leg in result.legs]
    points = [_new_point(i, run, result, details.weight_kg) for i, run in enumerate(result.runs, 1)]
    with store.writing() as session:
        source = add_source(session, flight.sha256, flight.source_name, flight.kind)
        return add_sortie(session, source, sortie, legs, points).id


def _new_leg(leg: LegLine) -> NewLeg:
    return NewLeg(
        leg.run,
        leg.leg,
        leg.vic_kt,
        leg.pressure_altitude_ft,
        leg.oat_degc,
        leg.start_s,
        leg.stop_s,
        leg.samples,
        leg.ground_east_kt,
        leg.ground_north_kt,
        leg.track_deg,
        leg.residual_kt,
        leg.u_kt,
    )


def _new_point(number: int, run: RunLine, result: Reduction, weight_kg: float) -> NewPoint:
    same = (
        "vic_kt",
        "pressure_altitude_ft",
        "oat_degc",
        "tas_kt",
        "kappa",
        "u_kappa",
        "dvpc_kt",
        "u_dvpc_kt",
        "dhpc_ft",
        "u_dhpc_ft",
        "wind_speed_kt",
        "wind_from_deg",
        "leg_count",
        "largest_gap_deg",
        "residual_kt",
        "duration_s",
        "degrees_of_freedom",
        "accepted",
        "reason",
    )
    values = {name: getattr(run, name) for name in same}
    if not np.isfinite(run.degrees_of_freedom):
        values["degrees_of_freedom"] = None  # without limit
    return NewPoint(
        number=number,
        technique=GPS_LEGS,
        weight_kg=weight_kg,
        flap_setting=result.flap_setting,
        terms=tuple(NewTerm(t.name, t.u_kappa, t.shared, t.kind, t.note) for t in run.terms),
        **values,
    )
