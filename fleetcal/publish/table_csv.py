"""The pooled table as CSV: one heading row, one row a speed, nothing else.

The text follows RFC 4180 (commas, quotes where needed, CRLF line ends). What
identifies the table is repeated in every row, so that tables of several groups
can be laid under each other and a row never parts from its caution.
"""

from __future__ import annotations

import csv
import io
from typing import Final

from fleetcal.plain_text import harmless_cell
from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_lines import Band, TableLine, note_of, table_lines
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


def csv_columns(form: TableForm | None = None) -> tuple[str, ...]:
    """Return the headings, in order.

    Args:
        form: Direction and unit; IAS to CAS in knots when left out.
    """
    chosen = form or TableForm()
    speeds: tuple[str, ...]
    if chosen.from_cas:
        speeds = ("cas", "ias", "correction", "ias_mean_low", "ias_mean_high")
        speeds += ("ias_next_low", "ias_next_high")
    else:
        speeds = ("ias", "cas", "correction", "mean_low", "mean_high", "next_low", "next_high")
    named = tuple(f"{name}_{chosen.unit_in_names}" for name in speeds)
    counts = ("airframes", "flown_by", light_column(chosen), "light_weight_kg")
    return (*named, "altitude_correction_ft", *counts, "note", *_SHARED)


def light_column(form: TableForm) -> str:
    """Return the heading of what the table says at its light weight."""
    return f"{'ias' if form.from_cas else 'cas'}_at_light_weight_{form.unit_in_names}"


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
    writer.writerow(csv_columns(table.form))
    for line in table_lines(table):
        writer.writerow(_line_cells(line, table.light_weight_kg) + shared)
    return text.getvalue()


def _line_cells(line: TableLine, light_weight_kg: float | None) -> list[str]:
    speeds = (line.given, line.answer, line.correction, *_ends(line.mean), *_ends(line.following))
    return [
        *(_number_cell(value, 1) for value in speeds),
        _number_cell(line.altitude_correction_ft, 0),
        str(line.airframes),
        "" if line.flown_by is None else str(line.flown_by),
        _number_cell(line.light, 1),
        _number_cell(light_weight_kg, 0),
        harmless_cell(note_of(line)),
    ]


def _ends(band: Band | None) -> tuple[float | None, float | None]:
    return (None, None) if band is None else band


def _number_cell(value: float | None, places: int) -> str:
    return "" if value is None else decimal(value, places)


def _limits(table: PooledTable) -> str:
    told = short_limits(table)
    return f"{told} ({table.form.speed_unit} IAS on this port)" if told else ""


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
        f"{SHORT_CAUTION} {PITOT_ASSUMPTION}",
    ]
