"""The table as CSV: one heading row, one row a speed, nothing else.

The text follows RFC 4180 (commas, quotes where needed, CRLF line ends). What
identifies the table is repeated in every row, so that tables of several groups
can be laid under each other and a row never parts from its caution.
"""

from __future__ import annotations

import csv
import io
from typing import Final

from fleetcal.plain_text import harmless_cell
from fleetcal.publish.band_words import own_caution
from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_columns import own_columns, program_columns
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_lines import TableLine, note_of, table_lines
from fleetcal.publish.table_words import short_limits
from fleetcal.wording import decimal

_SHARED: Final = (
    "type",
    "static_source",
    "engine",
    "propeller",
    "flap_setting",
    "weight_kg",
    "altitude_statement",
    "limits",
    "made_on",
    "program_version",
    "issue",
    "withdrawn",
    "caution",
)


def csv_columns(form: TableForm | None = None, *, own: bool = False) -> tuple[str, ...]:
    """Return the headings, in order.

    Args:
        form: Direction and unit; IAS to CAS in knots when left out.
        own: Of the table of one airframe, which has more columns at the end.
    """
    form = form or TableForm()
    columns = (column.name for column in program_columns(form))
    more = (*(column.name for column in own_columns(form)), "from_group", "airframe")
    return (*columns, "light_weight_kg", "note", *_SHARED, *(more if own else ()))


CSV_COLUMNS: Final[tuple[str, ...]] = csv_columns()
"""Headings of a table from IAS to CAS in knots, in order."""


def table_csv(table: PooledTable) -> str:
    """Return the pooled table as CSV text.

    Returns:
        RFC 4180 text with CRLF line ends; speeds and corrections to 0.1, altitude corrections in ft
        to 1. A cell without a value is empty, and `note` says why. Text that a spreadsheet would
        run is made harmless.
    """
    shared = _shared_cells(table)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(csv_columns(table.form, own=table.airframe is not None))
    for line in table_lines(table):
        own = [] if table.airframe is None else _own_cells(line, table.airframe.tag)
        writer.writerow(_line_cells(line, table.light_weight_kg) + shared + own)
    return text.getvalue()


def _own_cells(line: TableLine, tag: str) -> list[str]:
    """Return what only the lines of one airframe's table have."""
    band = (_cell(column.value(line), column.places) for column in own_columns(line.form))
    source = "" if line.answer is None else str(line.from_group).lower()
    return [*band, source, harmless_cell(tag)]


def _line_cells(line: TableLine, light_weight_kg: float | None) -> list[str]:
    return [
        *(_cell(column.value(line), column.places) for column in program_columns(line.form)),
        _cell(light_weight_kg, 0),
        harmless_cell(note_of(line)),
    ]


def _cell(value: float | None, places: int) -> str:
    return "" if value is None else decimal(value, places)


def _limits(table: PooledTable) -> str:
    limits = short_limits(table)
    return f"{limits} ({table.form.speed_unit} IAS on this port)" if limits else ""


def _shared_cells(table: PooledTable) -> list[str]:
    return [
        harmless_cell(table.type_name),
        harmless_cell(table.static_source),
        harmless_cell(table.engine or ""),
        harmless_cell(table.propeller or ""),
        harmless_cell(table.flap_setting),
        decimal(table.weight_kg, 1),
        harmless_cell(table.altitude_statement),
        harmless_cell(_limits(table)),
        table.made_on.isoformat(),
        harmless_cell(table.program_version),
        "" if table.issue is None else str(table.issue.number),
        harmless_cell(table.warning),
        " ".join(filter(None, (SHORT_CAUTION, own_caution(table), PITOT_ASSUMPTION))),
    ]
