"""What the page of a group says first: the calibrated airspeed at a few indicated ones."""

from __future__ import annotations

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.site.own_lines import reads_off, shown_rows
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_lines import given_places, table_lines
from fleetcal.publish.table_row import TableRow
from fleetcal.wording import decimal


def group_answers(table: PooledTable) -> list[str]:
    """Say what the aircraft of a group fly at a slow, a middle and a fast indicated airspeed.

    Args:
        table: Of a group, from IAS to CAS.
    """
    places = given_places(table_lines(table))
    return [_line(row, table.form, places) for row in shown_rows(table)]


def _line(row: TableRow, form: TableForm, places: int) -> str:
    assert row.correction_kt is not None
    assert row.next_low_kt is not None
    assert row.next_high_kt is not None
    given, unit = form.printed(row.given_kt), form.speed_unit
    cas = f"{decimal(form.printed(row.cas_kt or 0.0))} {unit} calibrated"
    low, high = (given + form.printed(end) for end in (row.next_low_kt, row.next_high_kt))
    answer = (
        f"At {decimal(given, places)} {unit} indicated the group flies {cas}, another aircraft of "
        f"the group {decimal(low)} to {decimal(high)}"
    )
    if row.next_low_kt <= 0.0 <= row.next_high_kt:
        return f"{answer}: right within that band."
    return f"{answer}: {reads_off(row.correction_kt, form)}."
