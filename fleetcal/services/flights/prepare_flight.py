"""A flight made ready to be solved: read, chosen from, checked on the bench, weighed.

What is ready needs no store any more, so that it can be solved anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fleetcal.errors import warned_of
from fleetcal.plain_file import text_of
from fleetcal.services.as_read import as_read
from fleetcal.services.bench.bench_corrections import BenchInForce, bench_in_force
from fleetcal.services.flights.air_words import air_doubts, air_notes
from fleetcal.services.flights.checked_flight import CheckedFlight, apply_bench
from fleetcal.services.flights.flight_day import day_of_flight, day_warnings
from fleetcal.services.flights.flight_weight import FlightWeight, flight_weight
from fleetcal.services.flights.hand_choices import ChosenFlight, apply_choices
from fleetcal.services.flights.offset_by_heights import offset_by_heights
from fleetcal.services.flights.read_flight import Flight, read_flight
from fleetcal.services.flights.reduction import FlightDetails, Reduction
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.settings_file import ReductionSettings, settings_document
from fleetcal.services.flights.solve_flight import SolvedFlight, solve_flight
from fleetcal.services.supposed_weight import weight_taken
from fleetcal.store import WEIGHT_SUPPOSED, find_airframe, fit_in_force

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class PreparedFlight:
    """A flight with all that solving it needs.

    Attributes:
        checked: The chosen flight with its bench corrections.
        bench: None for a preview, which knows no checks.
        weight_supposed: Whether the weight is the reference weight, because none was given.
        notes: What was found of its instruments.
    """

    chosen: ChosenFlight
    checked: CheckedFlight
    details: FlightDetails
    settings: ReductionSettings
    weight: FlightWeight
    bench: BenchInForce | None
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    weight_supposed: bool = False

    @property
    def flight(self) -> Flight:
        """The flight with its bench corrections."""
        return self.checked.flight


def read_chosen(path: Path, details: FlightDetails, settings: ReductionSettings) -> ChosenFlight:
    """Read a file and apply what was decided by hand.

    Raises:
        DataError: If the file cannot be read, or a choice does not fit it.
    """
    flight = read_flight(
        path,
        settings,
        details.airspeed_from,
        declination_deg=details.declination_deg,
        heading_used=details.heading == "used",
        mapping=details.mapping,
        stated=details.air,
    )
    chosen = apply_choices(flight, details.choices, details.solve_by, settings)
    if details.mapping is None:
        return chosen
    mapping = {
        "name": details.mapping.name,
        "text": text_of(details.mapping),
    }
    return replace(chosen, mapping=mapping)


def prepare_preview(
    chosen: ChosenFlight, details: FlightDetails, settings: ReductionSettings
) -> PreparedFlight:
    """Make a flight ready without any store.

    Raises:
        DataError: If the weight cannot be told.
    """
    weight = flight_weight(chosen.flight, details, settings.legs.slowest_mps)
    checked = apply_bench(chosen.flight, BenchInForce())
    found = offset_by_heights(checked, BenchInForce(), settings.uncertainty)
    return PreparedFlight(
        chosen=chosen,
        checked=replace(checked, flight=found.flight),
        details=details,
        settings=settings,
        weight=weight,
        bench=None,
        warnings=(*weight.warnings, *found.warnings),
        notes=found.notes,
    )


def prepare_flight(
    session: Session, chosen: ChosenFlight, details: FlightDetails, settings: ReductionSettings
) -> PreparedFlight:
    """Make a flight ready with what the store knows of its airframe.

    Args:
        details: With the airframe's tag.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If the day or the weight cannot be told, no aircraft of the type weighs so much
            or so little, or nothing was fitted on that day.
    """
    assert details.airframe is not None
    airframe = find_airframe(session, details.airframe)
    flown_on = day_of_flight(chosen.flight, details.flown_on)
    fit_in_force(airframe, flown_on)
    bench = bench_in_force(session, details.airframe, flown_on)
    warnings = day_warnings(chosen.flight, flown_on)
    details = replace(details, flown_on=flown_on)
    taken = weight_taken(airframe, details.weight_kg, details.takeoff_weight_kg)
    details = replace(details, weight_kg=taken.weight_kg)
    warnings += taken.warnings
    weight = flight_weight(chosen.flight, details, settings.legs.slowest_mps)
    checked = apply_bench(chosen.flight, bench)
    found = offset_by_heights(checked, bench, settings.uncertainty)
    warnings += (*weight.warnings, *checked.warnings, *found.warnings)
    return PreparedFlight(
        chosen=chosen,
        checked=replace(checked, flight=found.flight),
        details=details,
        settings=settings,
        weight=weight,
        bench=bench,
        warnings=warnings,
        notes=found.notes,
        weight_supposed=taken.supposed,
    )


def settings_used(prepared: PreparedFlight, borrowed_mps: float | None) -> ReductionSettings:
    """Return the settings with what the bench checks and earlier runs put in their place.

    Args:
        borrowed_mps: Leg scatter of earlier runs.
    """
    uncertainty = prepared.settings.uncertainty
    if uncertainty.leg_scatter_mps is None:
        uncertainty = replace(uncertainty, leg_scatter_mps=borrowed_mps)
    if prepared.bench is not None:
        uncertainty = prepared.bench.assumptions(prepared.checked.kinds, uncertainty)
    return replace(prepared.settings, uncertainty=uncertainty)


def _as_read(run: RunLine) -> RunLine:
    read_only = as_read(run.terms, run.degrees_of_freedom)
    return replace(
        run,
        U95_as_read_kt=read_only.U95_kappa * run.u_dvpc_kt / run.u_kappa,
        scatter_degrees_of_freedom=read_only.scatter_freedom,
    )


def solve_prepared(prepared: PreparedFlight, borrowed_mps: float | None) -> SolvedFlight:
    """Solve a flight that is ready.

    Args:
        borrowed_mps: Leg scatter of earlier runs, m/s.

    Raises:
        DataError: If nothing can be solved.
    """
    used = settings_used(prepared, borrowed_mps)
    with warned_of((*prepared.warnings, *prepared.flight.warnings)):
        solved = solve_flight(prepared.flight, prepared.details, used.uncertainty, prepared.weight)
    result, bench, kinds = solved.result, prepared.bench, prepared.checked.kinds
    notes: tuple[str, ...] = ("A preview applies no bench check.",)
    airframe = prepared.details.airframe if bench is not None else None
    if bench is not None:
        notes = bench.notes(kinds, used.uncertainty)
    applied = bench or BenchInForce()
    noted = [replace(run, terms=applied.noted(kinds, run.terms)) for run in result.runs]
    result = replace(result, runs=tuple(_as_read(run) for run in noted))
    result = replace(
        result,
        warnings=(*prepared.warnings, *result.warnings),
        notes=(
            *prepared.weight.notes,
            *air_notes(prepared.flight.air, result.runs, airframe),
            *prepared.notes,
            *result.notes,
            *notes,
        ),
        choices=prepared.chosen.notes,
        doubts=(*air_doubts(prepared.flight.air, result.runs, airframe), *result.doubts),
    )
    return replace(solved, result=result)


def kept_document(
    prepared: PreparedFlight, borrowed_mps: float | None, result: Reduction
) -> dict[str, Any]:
    """Return what the points of a flight rest on, to be kept with the sortie.

    Args:
        borrowed_mps: Leg scatter of earlier runs, m/s.
        result: What came of it.

    Returns:
        Ready for JSON.
    """
    document: dict[str, Any] = {
        **settings_document(settings_used(prepared, borrowed_mps)),
        "airspeed_from": prepared.flight.airspeed_from,
        **prepared.flight.air.document(),
        "bench": prepared.bench.document(prepared.checked.kinds) if prepared.bench else {},
    }
    stated = prepared.details.air.document()
    if stated:
        document["air_asked"] = stated
    if prepared.details.heading != "ignored":
        document["heading"] = prepared.details.heading
    if prepared.details.declination_deg is not None:
        document["declination_deg"] = prepared.details.declination_deg
    if prepared.chosen.document is not None:
        document["choices"] = prepared.chosen.document
    if prepared.chosen.mapping is not None:
        document["mapping"] = prepared.chosen.mapping
    if result.wind:
        document["wind"] = list(result.wind)
    if prepared.weight.document is not None:
        document["weight"] = prepared.weight.document
    if prepared.weight_supposed:
        document[WEIGHT_SUPPOSED] = True
    return document
