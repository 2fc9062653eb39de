"""The pooled table as CSV: one heading row, one row a speed, nothing else.

The text follows RFC 4180 (commas, quotes where needed, CRLF line ends). What
identifies the table is repeated in every row, so that tables of several groups
can be laid under each other and a row never parts from its caution.
"""

from __future__ import annotations

import csv
import io
from typing import Final

from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.plain_text import decimal, harmless_cell
from fleetcal.publish.pooled_table import PooledTable, TableRow

CSV_COLUMNS: Final[tuple[str, ...]] = (
    "ias_kt",
    "cas_kt",
    "correction_kt",
    "mean_low_kt",
    "mean_high_kt",
    "next_low_kt",
    "next_high_kt",
    "altitude_correction_ft",
    "airframes",
    "note",
    "type",
    "static_source",
    "engine",
    "propeller",
    "flap_setting",
    "weight_kg",
    "altitude_statement",
    "made_on",
    "program_version",
    "caution",
)
"""Headings, in order."""


def table_csv(table: PooledTable) -> str:
    """Return the pooled table as CSV text.

    Parameters
    ----------
    table : PooledTable

    Returns
    -------
    str
        RFC 4180 text with CRLF line ends; speeds and corrections in kt to 0.1,
        altitude corrections in ft to 1. A cell without a value is empty, and
        `note` says why. Text that a spreadsheet would run is made harmless.
    """
    shared = _shared_cells(table)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(CSV_COLUMNS)
    for row in table.rows:
        writer.writerow(_row_cells(row) + shared)
    return text.getvalue()


def _row_cells(row: TableRow) -> list[str]:
    speeds = (
        row.ias_kt,
        row.cas_kt,
        row.correction_kt,
        row.mean_low_kt,
        row.mean_high_kt,
        row.next_low_kt,
        row.next_high_kt,
    )
    return [
        *(_number_cell(value, 1) for value in speeds),
        _number_cell(row.altitude_correction_ft, 0),
        str(row.airframes),
        harmless_cell(row.note),
    ]


def _number_cell(value: float | None, places: int) -> str:
    return "" if value is None else decimal(value, places)


def _shared_cells(table: PooledTable) -> list[str]:
    return [
        harmless_cell(table.type_name),
        harmless_cell(table.static_source),
        harmless_cell(table.engine or ""),
        harmless_cell(table.propeller or ""),
        harmless_cell(table.flap_setting),
        decimal(table.weight_kg, 1),
        harmless_cell(table.altitude_statement),
        table.made_on.isoformat(),
        harmless_cell(table.program_version),
        f"{SHORT_CAUTION} {PITOT_ASSUMPTION}",
    ]
