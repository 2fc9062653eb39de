"""What a page shows of a flight that is open: answer, strips, legs, in words and numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from fleetcal.errors import FleetcalError
from fleetcal.plain_text import sentence
from fleetcal.publish.site.pages_flight import AnswerShown, LegShown, PickedShown
from fleetcal.publish.site.strips import Strips, flight_strips
from fleetcal.services.flights.flight_file import FlightFile
from fleetcal.services.flights.flight_report import flight_report
from fleetcal.services.flights.leg_list import UNSTEADY
from fleetcal.services.flights.open_flight import AnsweredFlight, OpenFlight
from fleetcal.services.flights.page_words import on_a_page
from fleetcal.services.flights.picked_legs import PickedLeg
from fleetcal.services.flights.run_lines import LegLine
from fleetcal.store import Store
from fleetcal.wording import counted, decimal, with_sign

#: Reports need a name of a file; nothing is written.
_NOWHERE: Final = FlightFile(Path("page.html"))


def answer_shown(
    flight: OpenFlight, store: Store | None, picked: Sequence[PickedLeg] | None = None
) -> AnswerShown:
    """Return what a flight says with its legs as they are picked; or why it says nothing.

    Args:
        store: None where there is none yet.
        picked: All legs; None for those found.
    """
    try:
        return _shown(flight.solve(store, picked))
    except FleetcalError as error:
        words = (error.message, error.hint, *error.warnings)
        return AnswerShown(
            sentences=tuple(sentence(on_a_page(one)) for one in words if one), refused=True
        )


def _shown(answered: AnsweredFlight) -> AnswerShown:
    result = answered.result
    unsteady = [words for words in result.warnings if UNSTEADY in words]
    kept = tuple(words for words in result.warnings if words not in unsteady)
    report = flight_report(replace(result, warnings=kept), _NOWHERE)
    return AnswerShown(
        sentences=report.answer,
        headings=report.headings,
        rows=report.rows,
        help=report.help,
        doubts=tuple(on_a_page(sentence(one)) for one in (*unsteady, *report.doubts)),
        behind=tuple(map(on_a_page, report.behind)),
        runs=answered.picture.runs,
        legs=tuple(_leg(line) for line in result.every_leg if line.start_s is not None),
    )


def _leg(line: LegLine) -> LegShown:
    residual = line.residual_kt
    return LegShown(
        run=line.run,
        leg=line.leg,
        start_s=line.start_s or 0.0,
        ias=decimal(line.vic_kt),
        track=f"{line.track_deg or 0.0:03.0f}",
        residual="" if residual is None else with_sign(residual, 1),
        outcome=line.outcome,
    )


def legs_shown(legs: Sequence[PickedLeg]) -> tuple[PickedShown, ...]:
    """Return legs in order of time as a page takes them."""
    return tuple(
        PickedShown(run=leg.run, start=leg.start_s, stop=leg.stop_s, out=leg.left_out)
        for leg in sorted(legs, key=lambda leg: leg.start_s)
    )


def strips_shown(
    flight: OpenFlight, start_s: float | None = None, stop_s: float | None = None
) -> Strips | None:
    """Return the strips of a flight; None for legs written by hand.

    Args:
        start_s, stop_s: What to show; all if left out.
    """
    if flight.history is None:
        return None
    name = flight.flight.airspeed_from.replace("_", " ")
    name = name if name == "indicated airspeed" else "airspeed"
    return flight_strips(flight.history, name, start_s, stop_s)


def parts_shown(flight: OpenFlight, strips: Strips) -> tuple[tuple[int, float, float], ...]:
    """Return what is solved in place of legs: number, left end and width, % of the width."""
    span = strips.stop_s - strips.start_s
    return tuple(
        (
            part.number,
            100.0 * (part.start_s - strips.start_s) / span,
            100.0 * (part.stop_s - part.start_s) / span,
        )
        for part in flight.parts
        if part.stop_s > strips.start_s and part.start_s < strips.stop_s
    )


def facts_shown(flight: OpenFlight) -> tuple[str, ...]:
    """Return how a flight was read, in short sentences."""
    read = flight.flight
    north = "the log's own" if read.track_reference == "unknown" else read.track_reference
    source = read.airspeed_from.replace("_", " ")
    when = f"Flown on {read.flown_on}. " if read.flown_on else ""
    if read.recorded is None:
        return (f"{when}{counted(read.leg_count, 'leg')} written by hand.",)
    minutes = counted(max(1, round(float(read.recorded.t_s[-1]) / 60.0)), "minute")
    found = f"{counted(read.leg_count, 'steady leg')} found"
    return (f"{when}{minutes}, {found}. Airspeed from {source}; tracks from {north} north.",)
