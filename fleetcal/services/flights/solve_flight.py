"""From legs, manoeuvres or stretches of a flight to its points; knows no store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import DataError, NoRunError, OutOfRangeError
from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.listed_legs import solved_legs, unsolved_legs
from fleetcal.services.flights.other_speeds import at_other_speeds
from fleetcal.services.flights.parts_flown import flaps_note, parts_of, require_courses, too_open
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.services.flights.reduction import SOLVED_BY, FlightDetails, Reduction, RefusedRun
from fleetcal.services.flights.run_lines import LEFT_OUT, REFUSED, LegLine, RunLine
from fleetcal.services.flights.run_to_line import run_to_line
from fleetcal.services.flights.solve_run import Run
from fleetcal.services.flights.sortie_wind import sortie_wind, wind_sentences
from fleetcal.services.flights.unit_doubt import doubted
from fleetcal.services.large_error import at_one_speed, doubts, scaled_alike
from fleetcal.services.pitot_words import pitot_error_words
from fleetcal.services.plausible_point import HeldAgainst
from fleetcal.services.plausible_point import doubted as plausible
from fleetcal.services.yardstick_words import yardstick_line
from fleetcal.wording import counted


@dataclass(frozen=True)
class SolvedFlight:
    """A flight as it was solved.

    Attributes:
        result: Not stored yet.
        lacks_scatter: Whether its legs show no scatter, so that the one of earlier flights counts.
    """

    result: Reduction
    lacks_scatter: bool


@dataclass
class _Found:
    """Runs that can be solved, and what cannot."""

    runs: list[Run]
    planned: list[GroupedLegs]
    refused: list[RefusedRun]
    others: list[LegLine]


def solve_flight(
    flight: Flight, details: FlightDetails, assumptions: Assumptions, weight: FlightWeight
) -> SolvedFlight:
    """Solve every run, manoeuvre or airspeed of a flight under one moving wind.

    Args:
        assumptions: Those of recovery factor and humidity are the flight's own.

    Raises:
        DataError: If nothing can be solved, or a reading is out of range.
    """
    assumptions = flight.air.assumptions(assumptions)
    found = _runs(flight) if details.solve_by == "legs" else _parts(flight, details)
    if not found.runs:
        raise _no_run(flight, found.refused, details)
    try:
        wind = sortie_wind(found.runs, assumptions)
    except OutOfRangeError as error:
        raise _out_of_range(flight, "its parts together", error) from error
    placed = sorted((*wind.joined, *wind.alone), key=lambda one: one.run.number)
    lines = [
        _weighed(
            run_to_line(one, wind.doubts.get(one.run.number, ""), flight.steps, assumptions),
            one.run,
            weight,
        )
        for one in placed
    ]
    if details.solve_by == "flight":
        lines, refused = too_open(lines)
        found.refused += refused
        if not lines:
            raise _no_run(flight, found.refused, details)
    others = at_other_speeds(flight, assumptions) if at_one_speed(lines) else []
    lines = doubted(lines, flight.doubt or scaled_alike([*lines, *others]), flight.assumed)
    lines = [*plausible(lines, HeldAgainst(flown_on=details.flown_on or flight.flown_on))]
    result = _result(flight, details, _flaps(found.planned, details), lines)
    if details.solve_by == "flight":
        flaps = flaps_note(result.flap_setting)
        result = replace(result, notes=(flaps,), doubts=(flaps,))
    sentences = wind_sentences(wind)
    return SolvedFlight(
        replace(
            result,
            wind=sentences,
            warnings=(*result.warnings, *sentences),
            legs=tuple(leg for one in placed for leg in solved_legs(one)),
            refused=tuple(found.refused),
            other_legs=tuple(found.others),
        ),
        wind.lacks_scatter,
    )


def _runs(flight: Flight) -> _Found:
    found = _Found([], [], [], [])
    for place, planned in enumerate(flight.runs, 1):
        number = planned.number or place
        numbers = [n for n in range(1, len(planned.legs) + 1) if n not in planned.dropped]
        legs = [planned.legs[n - 1] for n in numbers]
        gone = [
            n for n in range(1, len(planned.legs) + 1) if n in planned.dropped or planned.left_out
        ]
        found.others += unsolved_legs(number, [planned.legs[n - 1] for n in gone], LEFT_OUT, gone)
        if planned.left_out:
            continue
        reason = planned.refusal or ("every leg is left out" if not legs else "")
        run = Run(
            number=number,
            legs=tuple(legs),
            leg_numbers=tuple(numbers),
            turns=_turns(planned, numbers),
        )
        reason = reason or _refusal(flight, run, f"run {number}")
        if reason:
            found.refused.append(RefusedRun(number, len(legs), reason))
            found.others += unsolved_legs(number, legs, REFUSED, numbers)
        else:
            found.runs.append(run)
            found.planned.append(planned)
    return found


def _turns(planned: GroupedLegs, numbers: Sequence[int]) -> tuple[FlownLeg, ...]:
    """Return the turns between legs that are both used."""
    return tuple(
        turn
        for before, turn in enumerate(planned.turns, 1)
        if turn is not None and before in numbers and before + 1 in numbers
    )


def _parts(flight: Flight, details: FlightDetails) -> _Found:
    found = _Found([], [], [], [])
    ordinary = details.solve_by == "flight"
    if ordinary:
        require_courses(flight)
    for number, flown in parts_of(flight, details).items():
        run = Run(
            number=number,
            legs=flown,
            leg_numbers=tuple(range(1, len(flown) + 1)),
            technique=SOLVED_BY[details.solve_by],
        )
        # an airspeed of an ordinary flight need not go round the compass by itself
        reason = "" if ordinary else _refusal(flight, run, f"manoeuvre {number}")
        if reason:
            found.refused.append(RefusedRun(number, None, reason))
        else:
            found.runs.append(run)
    return found


def _refusal(flight: Flight, run: Run, which: str) -> str:
    if run.has_legs and len(run.legs) < 3:
        return f"only {counted(len(run.legs), 'leg')}: wind and airspeed need three tracks"
    try:
        return run.refusal()
    except OutOfRangeError as error:
        raise _out_of_range(flight, which, error) from error


def _out_of_range(flight: Flight, which: str, error: OutOfRangeError) -> OutOfRangeError:
    return OutOfRangeError(
        f"{flight.source_name}, {which}: {error.message}",
        error.hint or "check the columns and their units, or leave that part out",
    )


def _weighed(line: RunLine, run: Run, weight: FlightWeight) -> RunLine:
    """Give a line the weight at its middle; of an ordinary flight the mean over its stretches."""
    if run.technique == ORDINARY_FLIGHT:
        weights = [weight.at(float(leg.time_s.mean())) for leg in run.legs]
        mean = float(np.average(weights, weights=[leg.samples for leg in run.legs]))
        return replace(line, weight_kg=mean)
    middle = None
    if run.started_s is not None and run.stopped_s is not None:
        middle = (run.started_s + run.stopped_s) / 2.0
    return replace(line, weight_kg=weight.at(middle))


def _result(
    flight: Flight, details: FlightDetails, flap_setting: str, lines: Sequence[RunLine]
) -> Reduction:
    lines = [replace(line, flap_setting=flap_setting) for line in lines]
    weights = [line.weight_kg for line in lines if np.isfinite(line.weight_kg)]
    return Reduction(
        airframe=details.airframe,
        source=flight.source_name,
        flown_on=details.flown_on or flight.flown_on,
        weight_kg=float(np.mean(weights)) if weights else None,
        flap_setting=flap_setting,
        technique=SOLVED_BY[details.solve_by],
        track_reference=flight.track_reference,
        airspeed_from=flight.airspeed_from,
        legs_found=flight.leg_count,
        legs=(),
        runs=tuple(lines),
        refused=(),
        warnings=(*flight.warnings, *doubts(lines, "run")),
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
    why = f": {refused[0].reason}" if refused else ""
    if details.solve_by == "manoeuvres":
        return NoRunError(
            f"{flight.source_name}: no steady turn or box at one airspeed to solve{why}",
            "fly a full circle or a box at one power setting and airspeed",
        )
    if details.solve_by == "flight":
        return NoRunError(
            f"{flight.source_name}: the flight tells nothing of its airspeed errors{why}",
            "fly on more courses: a circuit or a full circle at each airspeed is enough",
        )
    noun = "leg" if flight.leg_count == 1 else "legs"
    kind = "steady " if flight.kind == "log" else ""
    hint = "fly at least three legs at one speed and altitude on tracks spread around the compass"
    if flight.likely_cause:
        hint = f"look first at the likeliest cause: {flight.likely_cause}; else {hint}"
    if details.choices.any:
        hint = f"{hint}, or leave in more of what was found"
    elif flight.kind == "log" and flight.airspeeds:
        hint = f"{hint}; of a flight without legs '--solve-by flight' may tell something"
    return NoRunError(
        f"{flight.source_name}: {flight.leg_count} {kind}{noun} found, no run of three tracks to "
        f"solve{why}",
        hint,
    )
