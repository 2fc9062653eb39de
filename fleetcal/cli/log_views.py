"""How the columns of a log are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.wording import counted, there_are

if TYPE_CHECKING:
    from fleetcal.services.flights.understand_log import LogUnderstanding
    from fleetcal.services.keeping.kept_logs import LogList


def _answer(log: LogUnderstanding) -> Iterator[str]:
    if log.lacking:
        yield f"The log cannot be reduced as it is: {log.lacking.removesuffix('.')}."
    else:
        yield f"Everything that a reduction needs is in {log.source}."


def _head(log: LogUnderstanding) -> Iterator[str]:
    form = f", {log.separator} between cells, decimal {log.decimal}" if log.separator else ""
    yield f"Read as {log.kind}, {counted(log.rows, 'row')}{form}."
    when = f"It begins {log.begins_utc}" if log.begins_utc else "It has no date"
    every = f", a sample every {log.interval_s:g} s" if log.interval_s else ""
    parts = f", {log.parts} parts" if log.parts > 1 else ""
    yield f"{when}{every}{parts}; tracks count from {_north(log.north)}."


def _north(north: str) -> str:
    return "a north that is not stated" if north == "unknown" else f"{north} north"


def _foot(log: LogUnderstanding) -> Iterator[str]:
    if log.not_understood:
        yield f"Not understood: {', '.join(log.not_understood)}."
    if log.lacking and log.hint:
        yield f"What to do: {log.hint}"


LOG_COLUMNS: View[LogUnderstanding] = View(
    kind="log_columns",
    rows="columns",
    columns=[
        Column("quantity", importance=ALWAYS),
        Column("heading", wraps=True),
        Column("unit"),
        Column("lowest", 1, to="highest", heading="range"),
        Column("missing_percent", 1),
        Column("confidence", 2),
        Column("sample", wraps=True, importance=SPARE),
        Column("unit_stated", importance=SPARE),
        Column("column", importance=SPARE),
        Column("by_mapping", importance=SPARE),
    ],
    answer=_answer,
    head=_head,
    foot=_foot,
)


def _kept_head(found: LogList) -> Iterator[str]:
    mega = [size / 1e6 for size in (found.file_bytes, found.packed_bytes)]
    packed = f", {mega[0]:.1f} MB packed to {mega[1]:.1f} MB" if found.logs else ""
    yield f"{there_are(len(found.logs), 'kept log')}{packed}."


KEPT_LOGS: View[LogList] = View(
    kind="kept_logs",
    rows="logs",
    columns=[
        Column("file", importance=ALWAYS),
        Column("airframes", wraps=True),
        Column("flown_on"),
        Column("file_bytes"),
        Column("packed_bytes", importance=SPARE),
        Column("kept_at", importance=SPARE),
        Column("sha256", importance=SPARE),
    ],
    answer=_kept_head,
)
