"""From the legs or manoeuvres of a whole flight to its points; knows no store."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import DataError, NoRunError, OutOfRangeError
from fleetcal.records import GPS_LEGS, GPS_MANOEUVRE
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.listed_legs import unsolved_legs
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.services.flights.reduction import FlightDetails, Reduction, RefusedRun
from fleetcal.services.flights.run_lines import LEFT_OUT, REFUSED, LegLine, RunLine
from fleetcal.services.flights.run_to_line import run_to_line
from fleetcal.services.flights.solve_manoeuvre import solve_flown_manoeuvre
from fleetcal.services.flights.solve_run import RunSolution, SolvedRun, solve_run
from fleetcal.services.flights.sortie_wind import sortie_wind, wind_sentences
from fleetcal.services.flights.unit_doubt import doubted, unit_warning
from fleetcal.services.pitot_words import pitot_error_words
from fleetcal.services.yardstick_words import yardstick_line


@dataclass(frozen=True)
class SolvedFlight:
    """A flight as it was solved.

    Attributes:
        result: Not stored yet.
        runs: By number, those that legs were solved for.
    """

    result: Reduction
    runs: dict[int, SolvedRun] = field(default_factory=dict)


def solve_flight(
    flight: Flight,
    details: FlightDetails,
    assumptions: Assumptions,
    weight: FlightWeight,
    before: Mapping[int, SolvedRun] | None = None,
) -> SolvedFlight:
    """Solve every run, or manoeuvre, of a flight.

    Args:
        assumptions: Those of recovery factor and humidity are the flight's own.
        before: Runs of this flight solved before; what is supposed of the uncertainties does not
            move their solutions, which are taken over.

    Raises:
        DataError: If nothing can be solved, or a reading is out of range.
    """
    assumptions = flight.air.assumptions(assumptions)
    if details.solve_by == "manoeuvres":
        return _solve_manoeuvres(flight, details, assumptions, weight)
    solved: dict[int, SolvedRun] = {}
    planned: dict[int, GroupedLegs] = {}
    refused: list[RefusedRun] = []
    others: list[LegLine] = []
    for place, run in enumerate(flight.runs, 1):
        number = run.number or place
        found, idle = _solve_planned(flight, number, run, (before or {}).get(number))
        others += idle
        if found.solution is not None:
            solved[number], planned[number] = found, run
        elif not run.left_out:
            refused.append(RefusedRun(number, len(_used(run)[1]), found.reason))
    if not solved:
        raise _no_run(flight, refused, details)
    runs = [found.solution for found in solved.values() if found.solution is not None]
    wind = sortie_wind(runs, assumptions)
    lines = [_weighed(run_to_line(run, wind, assumptions), run, weight) for run in runs]
    result = _result(flight, details, _flaps(list(planned.values()), details), lines)
    sentences = wind_sentences(wind)
    result = replace(result, wind=sentences, warnings=(*result.warnings, *sentences))
    legs = tuple(leg for found in solved.values() for leg in found.legs)
    refused_runs = tuple(refused)
    return SolvedFlight(
        replace(result, legs=legs, refused=refused_runs, other_legs=tuple(others)), solved
    )


def _used(run: GroupedLegs) -> tuple[list[int], list[FlownLeg]]:
    """Return numbers and legs that are not left out."""
    numbers = [n for n in range(1, len(run.legs) + 1) if n not in run.dropped]
    return numbers, [run.legs[n - 1] for n in numbers]


def _solve_planned(
    flight: Flight,
    number: int,
    run: GroupedLegs,
    before: SolvedRun | None,
) -> tuple[SolvedRun, tuple[LegLine, ...]]:
    """Return a run as solved, and those of its legs that were not."""
    numbers, legs = _used(run)
    gone = [n for n in range(1, len(run.legs) + 1) if n in run.dropped or run.left_out]
    idle = unsolved_legs(number, [run.legs[n - 1] for n in gone], LEFT_OUT, gone)
    if run.left_out:
        return SolvedRun((), None, "left out"), idle
    reason = run.refusal or ("every leg is left out" if not legs else "")
    if reason:
        return SolvedRun((), None, reason), idle + unsolved_legs(number, legs, REFUSED, numbers)
    found = before
    if found is None:
        try:
            found = solve_run(number, legs, flight.steps, numbers)
        except OutOfRangeError as error:
            raise _out_of_range(flight, f"run {number}", error) from error
    return found, idle if found.solution is not None else idle + found.legs


def _out_of_range(flight: Flight, which: str, error: OutOfRangeError) -> OutOfRangeError:
    return OutOfRangeError(
        f"{flight.source_name}, {which}: {error.message}",
        error.hint or "check the columns and their units, or leave that part out",
    )


def _weighed(line: RunLine, run: RunSolution, weight: FlightWeight) -> RunLine:
    middle = None
    if run.started_s is not None and run.stopped_s is not None:
        middle = (run.started_s + run.stopped_s) / 2.0
    return replace(line, weight_kg=weight.at(middle))


def _solve_manoeuvres(
    flight: Flight, details: FlightDetails, assumptions: Assumptions, weight: FlightWeight
) -> SolvedFlight:
    lines, refused = [], []
    for number, flown in enumerate(flight.manoeuvres, 1):
        try:
            solved = solve_flown_manoeuvre(number, flown, flight.steps, assumptions)
        except OutOfRangeError as error:
            raise _out_of_range(flight, f"manoeuvre {number}", error) from error
        if solved.line is None:
            refused.append(RefusedRun(number, None, solved.reason))
        else:
            middle = float(flown.time_s[0] + flown.time_s[-1]) / 2.0
            lines.append(replace(solved.line, weight_kg=weight.at(middle)))
    if not lines:
        why = f": {refused[0].reason}" if refused else ""
        raise NoRunError(
            f"{flight.source_name}: no steady turn or box at one airspeed to solve{why}",
            "fly a full circle or a box at one power setting and airspeed",
        )
    result = _result(flight, details, details.flap_setting, lines)
    return SolvedFlight(replace(result, refused=tuple(refused)))


def _result(
    flight: Flight, details: FlightDetails, flap_setting: str, lines: Sequence[RunLine]
) -> Reduction:
    lines = [replace(line, flap_setting=flap_setting) for line in doubted(lines, flight.doubt)]
    weights = [line.weight_kg for line in lines if np.isfinite(line.weight_kg)]
    return Reduction(
        airframe=details.airframe,
        source=flight.source_name,
        flown_on=details.flown_on or flight.flown_on,
        weight_kg=float(np.mean(weights)) if weights else None,
        flap_setting=flap_setting,
        technique=GPS_LEGS if details.solve_by == "legs" else GPS_MANOEUVRE,
        track_reference=flight.track_reference,
        airspeed_from=flight.airspeed_from,
        legs_found=flight.leg_count,
        legs=(),
        runs=tuple(lines),
        refused=(),
        warnings=(*flight.warnings, *unit_warning(lines)),
        stored=False,
        known_already=False,
        sortie_id=None,
        yardstick=yardstick_line(
            [line.vic_kt for line in lines], [line.vic_kt + line.dvpc_kt for line in lines]
        ),
        pitot=pitot_error_words(max(line.vic_kt for line in lines), 0.0) if lines else "",
        source_kind=flight.kind,
    )


def _flaps(runs: Sequence[GroupedLegs], details: FlightDetails) -> str:
    written = {run.flap_setting for run in runs if run.flap_setting}
    if len(written) > 1:
        raise DataError(
            f"the sheet mixes flap settings {', '.join(sorted(written))}",
            "reduce one sheet for each flap setting",
        )
    return written.pop() if written else details.flap_setting


def _no_run(flight: Flight, refused: Sequence[RefusedRun], details: FlightDetails) -> NoRunError:
    noun = "leg" if flight.leg_count == 1 else "legs"
    kind = "steady " if flight.kind == "log" else ""
    why = f": {refused[0].reason}" if refused else ""
    hint = "fly at least three legs at one speed and altitude on tracks spread around the compass"
    if flight.likely_cause:
        hint = f"look first at the likeliest cause: {flight.likely_cause}; else {hint}"
    if details.choices.any:
        hint = f"{hint}, or leave in more of what was found"
    return NoRunError(
        f"{flight.source_name}: {flight.leg_count} {kind}{noun} found, no run of three tracks to "
        f"solve{why}",
        hint,
    )
