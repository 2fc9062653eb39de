"""The printed lines of a table: whichever way it is read, in its own unit of speed.

Every format prints these lines, so that no two formats can say different things.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from fleetcal.publish.pooled_table import PooledTable, TableRow
from fleetcal.publish.reading_row import ReadingRow
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import lowest_bound

Band = tuple[float, float]
_WHOLE: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class TableLine:
    """One line; speeds in the table's unit.

    Attributes:
        given: The round speed that the line is looked up by.
        answer: The other speed; None where the data do not reach, with the reason in `note`.
        correction: CAS - IAS.
        mean, following (tuple of (low, high) or None): 95 % bands of the group's mean and of its
            next aircraft: of the correction, or of the IAS in a table that goes from CAS to IAS.
        light: The other speed at the light weight of the table.
        beyond: Name of the limit that the line lies above, which is not for flying; empty if none.
    """

    given: float
    answer: float | None
    correction: float | None
    mean: Band | None
    following: Band | None
    altitude_correction_ft: float | None
    airframes: int
    note: str
    flown_by: int | None = None
    light: float | None = None
    beyond: str = ""


def table_lines(table: PooledTable) -> tuple[TableLine, ...]:
    """Return the lines of a table."""
    bound = lowest_bound(table.limits)
    lines: list[tuple[TableLine, float | None]]
    if table.form.from_cas:
        lines = [(_reading(row, table.form), row.ias_kt) for row in table.readings]
    else:
        lines = [(_correction(row, table.form), row.ias_kt) for row in table.rows]
    return tuple(
        line
        if bound is None or ias_kt is None or ias_kt <= bound.usable_kt
        else replace(line, beyond=bound.name)
        for line, ias_kt in lines
    )


def first_beyond(lines: Sequence[TableLine]) -> int:
    """Return the place of the first line above a bound; the number of lines if there is none."""
    return next((place for place, line in enumerate(lines) if line.beyond), len(lines))


def note_of(line: TableLine) -> str:
    """Return the note of a line, or that it lies above a limit."""
    return line.note or (f"above {line.beyond}" if line.beyond else "")


def given_places(lines: tuple[TableLine, ...]) -> int:
    """Return how many decimals the looked-up speeds need: none if all are whole."""
    return 0 if all(abs(line.given - round(line.given)) < _WHOLE for line in lines) else 1


def _correction(row: TableRow, form: TableForm) -> TableLine:
    return _line(row, form, (row.ias_kt, row.cas_kt), row.light_cas_kt)


def _reading(row: ReadingRow, form: TableForm) -> TableLine:
    return _line(row, form, (row.cas_kt, row.ias_kt), row.light_ias_kt)


def _line(
    row: TableRow | ReadingRow,
    form: TableForm,
    speeds: tuple[float, float | None],
    light_kt: float | None,
) -> TableLine:
    """Return a row as a line; speeds are the one that is looked up and the other."""
    return TableLine(
        given=form.printed(speeds[0]),
        answer=_printed(speeds[1], form),
        correction=_printed(row.correction_kt, form),
        mean=_band(row.mean_low_kt, row.mean_high_kt, form),
        following=_band(row.next_low_kt, row.next_high_kt, form),
        altitude_correction_ft=row.altitude_correction_ft,
        airframes=row.airframes,
        note=row.note,
        flown_by=row.flown_by,
        light=_printed(light_kt, form),
    )


def _printed(speed_kt: float | None, form: TableForm) -> float | None:
    return None if speed_kt is None else form.printed(speed_kt)


def _band(low_kt: float | None, high_kt: float | None, form: TableForm) -> Band | None:
    if low_kt is None or high_kt is None:
        return None
    return form.printed(low_kt), form.printed(high_kt)
