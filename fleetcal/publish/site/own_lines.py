"""What an airframe's own page says first: the calibrated airspeed at a few indicated ones."""

from __future__ import annotations

from typing import Final

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import lowest_bound
from fleetcal.publish.table_lines import given_places, table_lines
from fleetcal.publish.table_row import TableRow
from fleetcal.wording import decimal

#: A slow, a middle and a fast speed get a sentence each.
_SHOWN: Final = 3


def own_lines(table: PooledTable) -> list[str]:
    """Say what an airframe flies at a slow, a middle and a fast indicated airspeed.

    Args:
        table: Its own.
    """
    return [_line(row, table.form, given_places(table_lines(table))) for row in shown_rows(table)]


def shown_rows(table: PooledTable) -> list[TableRow]:
    """Return the rows of a slow, a middle and a fast speed, all of them known.

    Speeds that were flown enough are preferred, and none lies above the lowest limit.
    """
    bound = lowest_bound(table.limits)
    known = [row for row in table.rows if row.correction_kt is not None]
    safe = [row for row in known if bound is None or row.given_kt <= bound.usable_kt] or known
    flown = [row for row in safe if not row.note] or safe
    if not flown:
        return []
    last = len(flown) - 1
    places = sorted({0, last // 2, last}) if last >= _SHOWN - 1 else range(len(flown))
    return [flown[place] for place in places]


def _line(row: TableRow, form: TableForm, places: int) -> str:
    assert row.correction_kt is not None
    assert row.mean_low_kt is not None
    assert row.mean_high_kt is not None
    half = form.printed(row.mean_high_kt - row.mean_low_kt) / 2.0
    unit, cas = form.speed_unit, decimal(form.printed(row.cas_kt or 0.0))
    answer = (
        f"At {decimal(form.printed(row.given_kt), places)} {unit} indicated you fly {cas} {unit} "
        f"calibrated, ± {decimal(half)}"
    )
    if row.mean_low_kt <= 0.0 <= row.mean_high_kt:
        return f"{answer}: right within its band."
    return f"{answer}: {reads_off(row.correction_kt, form)}."


def reads_off(correction_kt: float, form: TableForm) -> str:
    """Say by how much and which way an indicator is off that needs a correction."""
    way = "fast" if correction_kt < 0.0 else "slow"
    return f"it reads {decimal(abs(form.printed(correction_kt)))} {form.speed_unit} too {way}"
