"""How the columns of a log are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.wording import there_are

if TYPE_CHECKING:
    from fleetcal.services.flights.understand_log import LogUnderstanding
    from fleetcal.services.keeping.kept_logs import LogList


def _answer(log: LogUnderstanding) -> Iterator[str]:
    from fleetcal.services.flights.log_words import readiness

    yield readiness(log)


def _head(log: LogUnderstanding) -> Iterator[str]:
    from fleetcal.services.flights.log_words import log_sentences

    yield from log_sentences(log)


def _foot(log: LogUnderstanding) -> Iterator[str]:
    from fleetcal.services.flights.log_words import log_remarks

    yield from log_remarks(log)


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
