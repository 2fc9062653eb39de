"""What the report of one flight says, from its reduction."""

from __future__ import annotations

from fleetcal.publish.answer_figure import AnsweredSpeed
from fleetcal.publish.flight_report import FlightReport
from fleetcal.services.flights.flight_file import FlightFile
from fleetcal.services.flights.flight_sentences import TABLE_HELP, answer_sentences, doubt_sentences
from fleetcal.services.flights.flight_table import flight_table
from fleetcal.services.flights.flight_title import flight_found, flight_title
from fleetcal.services.flights.reduction import Reduction
from fleetcal.services.flights.speed_answers import speed_answers


def flight_report(result: Reduction, file: FlightFile) -> FlightReport:
    """Return what a report says of a flight.

    Args:
        file: With the units it is written in.
    """
    units, shown = file.units, file.in_units
    table = flight_table(result, units)
    behind = [*result.notes, *result.warnings, result.yardstick, result.pitot]
    facts = [f"{flight_found(result)}.", *(f"By hand: {choice}." for choice in result.choices)]
    return FlightReport(
        title=shown(flight_title(result)),
        facts=tuple(shown(words) for words in facts),
        answer=answer_sentences(result, units),
        headings=table.headings,
        rows=table.rows,
        help=TABLE_HELP,
        doubts=tuple(shown(words) for words in doubt_sentences(result)),
        behind=tuple(_sentence(shown(words)) for words in behind if words),
        speeds=tuple(
            AnsweredSpeed(one.ias, one.correction, one.band, one.accepted)
            for one in speed_answers(result, units)
        ),
        speed_unit=units.speed,
    )


def _sentence(words: str) -> str:
    """Return words with a capital letter and a full stop."""
    return f"{words[:1].upper()}{words[1:]}".removesuffix(".") + "."
