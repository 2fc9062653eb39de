"""How the columns of a log are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, View

if TYPE_CHECKING:
    from fleetcal.services.flights.understand_log import LogUnderstanding
    from fleetcal.services.keeping.kept_logs import LogList


def _head(log: LogUnderstanding) -> Iterator[str]:
    form = f", {log.separator} between cells, decimal {log.decimal}" if log.separator else ""
    yield f"{log.source}: {log.kind}, {log.rows} rows{form}"
    when = f"begins {log.begins_utc}" if log.begins_utc else "no date"
    every = f", a sample every {log.interval_s:g} s" if log.interval_s else ""
    parts = f", {log.parts} parts" if log.parts > 1 else ""
    yield f"{when}{every}{parts}; tracks count from {_north(log.north)}"


def _north(north: str) -> str:
    return "a north that is not stated" if north == "unknown" else f"{north} north"


def _foot(log: LogUnderstanding) -> Iterator[str]:
    if log.not_understood:
        yield f"Not understood: {', '.join(log.not_understood)}."
    if log.lacking:
        yield f"Cannot be reduced as it is: {log.lacking}"
        if log.hint:
            yield f"What to do: {log.hint}"
    else:
        yield "Everything that a reduction needs is there."


LOG_COLUMNS: View[LogUnderstanding] = View(
    kind="log_columns",
    rows="columns",
    columns=[
        Column("quantity"),
        Column("column"),
        Column("heading"),
        Column("unit"),
        Column("unit_stated"),
        Column("confidence", 2),
        Column("sample"),
        Column("lowest", 1),
        Column("highest", 1),
        Column("missing_percent", 1),
        Column("by_mapping"),
    ],
    head=_head,
    foot=_foot,
)


def _kept_head(found: LogList) -> Iterator[str]:
    mega = [size / 1e6 for size in (found.file_bytes, found.packed_bytes)]
    word = "log" if len(found.logs) == 1 else "logs"
    yield f"{len(found.logs)} {word} kept, {mega[0]:.1f} MB packed to {mega[1]:.1f} MB"


KEPT_LOGS: View[LogList] = View(
    kind="kept_logs",
    rows="logs",
    columns=[
        Column("file"),
        Column("airframes"),
        Column("flown_on"),
        Column("file_bytes"),
        Column("packed_bytes"),
        Column("kept_at"),
        Column("sha256"),
    ],
    head=_kept_head,
)
