"""How the reduction of a flight is printed."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from fleetcal.cli.accept_words import accept_words
from fleetcal.cli.flight_details import flight_details_lines
from fleetcal.cli.options import program_words
from fleetcal.cli.output import Column, View, text_table
from fleetcal.cli.shown_units import shown_unit

if TYPE_CHECKING:
    from fleetcal.services.flights.reduction import Reduction
    from fleetcal.services.flights.speed_answers import PrintedUnits


def printed_units() -> PrintedUnits:
    """Return the units that people are shown."""
    from fleetcal.services.flights.speed_answers import PrintedUnits

    return PrintedUnits(shown_unit("kt"), shown_unit("ft"))


def _answer(result: Reduction) -> Iterator[str]:
    if result.known_already:
        from fleetcal.services.flights.flight_title import already_kept

        yield already_kept(result)
        return
    from fleetcal.services.flights.flight_sentences import answer_sentences

    yield from answer_sentences(result, printed_units())


def _table(result: Reduction) -> Iterator[str]:
    if not result.runs:
        return
    from fleetcal.services.flights.flight_table import flight_table
    from fleetcal.services.flights.flight_title import flight_found, flight_title

    yield from ("", flight_title(result), flight_found(result))
    if result.choices:
        yield f"by hand: {'; '.join(result.choices)}"
    table = flight_table(result, printed_units())
    lines = [*zip(*table.headings, strict=True), *table.rows]
    widths = [max(len(cell) for cell in column) for column in zip(*lines, strict=True)]
    yield ""
    for line in lines:
        yield "  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True))


def _foot(result: Reduction) -> Iterator[str]:
    if result.known_already:
        from fleetcal.services.flights.flight_title import flight_title

        yield flight_title(result)
        yield from _changed_options(result)
        yield from result.notes
        yield "To see its answer again, add: --preview"
        return
    from fleetcal.services.flights.flight_sentences import TABLE_HELP, doubt_sentences

    yield TABLE_HELP
    yield from doubt_sentences(result)
    if result.figure:
        what = "Report" if result.figure.lower().endswith((".html", ".pdf")) else "Figure"
        yield f"{what} written to {result.figure}."
    yield from _kept(result)


def _kept(result: Reduction) -> Iterator[str]:
    """Say whether it is stored, and how to store it."""
    if result.stored:
        curve = shlex.join([*program_words(), "curve", result.airframe or ""])
        yield f"Stored as sortie {result.sortie_id}. All its flights in one curve: {curve}"
        if not all(run.accepted for run in result.runs):
            yield accept_words(result.airframe)
    elif result.airframe is not None:
        yield "Nothing is stored. To keep it, leave --preview out."
    else:
        yield "Nothing is stored. To keep it under a name, add: --airframe TAG"


def _changed_options(result: Reduction) -> Iterator[str]:
    """Say what is given otherwise than it is stored, and how it is stored as it is given."""
    if not result.asked_otherwise:
        return
    yield "What is stored differs from what you ask now:"
    yield from text_table(
        result.asked_otherwise, [Column("option"), Column("stored"), Column("given")]
    )
    if result.again_words:
        command = shlex.join([*program_words(), *result.again_words])
        yield f"To store it as you ask now: {command}"
        yield "Without --replace that shows what would change."
    if any(not other.words for other in result.asked_otherwise):
        yield "A stored note is not changed."


REDUCTION: View[Reduction] = View(
    kind="reduction",
    rows="runs",
    columns=[],
    answer=_answer,
    body=_table,
    foot=_foot,
    details=flight_details_lines,
    details_hint="Legs, wind of each run, uncertainties and what was supposed: --details.",
    cautioned=True,
    tells=lambda result: bool(result.runs),
)

#: The same with its legs, found or left out, where rows are printed for programs.
LEGS: View[Reduction] = replace(REDUCTION, rows="every_leg")
