"""The printed lines of a table: whichever way it is read, in its own unit of speed.

Every format prints these lines, so that no two formats can say different things.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.publish.pooled_table import PooledTable, TableRow
from fleetcal.publish.reading_row import ReadingRow
from fleetcal.publish.table_form import TableForm

Band = tuple[float, float]
_WHOLE: Final = 1e-6


@dataclass(frozen=True)
class TableLine:
    """One line; speeds in the table's unit.

    Attributes
    ----------
    given : float
        The round speed that the line is looked up by.
    answer : float or None
        The other speed; None where the data do not reach, with the reason in `note`.
    correction : float or None
        CAS - IAS.
    mean, following : tuple of (low, high) or None
        95 % bands of the group's mean and of its next aircraft: of the
        correction, or of the IAS in a table that goes from CAS to IAS.
    altitude_correction_ft : float or None
    airframes : int
    note : str
    """

    given: float
    answer: float | None
    correction: float | None
    mean: Band | None
    following: Band | None
    altitude_correction_ft: float | None
    airframes: int
    note: str


def table_lines(table: PooledTable) -> tuple[TableLine, ...]:
    """Return the lines of a table.

    Parameters
    ----------
    table : PooledTable

    Returns
    -------
    tuple of TableLine
    """
    if table.form.from_cas:
        return tuple(_reading(row, table.form) for row in table.readings)
    return tuple(_correction(row, table.form) for row in table.rows)


def given_places(lines: tuple[TableLine, ...]) -> int:
    """Return how many decimals the looked-up speeds need: none if all are whole."""
    return 0 if all(abs(line.given - round(line.given)) < _WHOLE for line in lines) else 1


def _correction(row: TableRow, form: TableForm) -> TableLine:
    return TableLine(
        form.printed(row.ias_kt),
        _printed(row.cas_kt, form),
        _printed(row.correction_kt, form),
        _band(row.mean_low_kt, row.mean_high_kt, form),
        _band(row.next_low_kt, row.next_high_kt, form),
        row.altitude_correction_ft,
        row.airframes,
        row.note,
    )


def _reading(row: ReadingRow, form: TableForm) -> TableLine:
    return TableLine(
        form.printed(row.cas_kt),
        _printed(row.ias_kt, form),
        _printed(row.correction_kt, form),
        _band(row.mean_low_kt, row.mean_high_kt, form),
        _band(row.next_low_kt, row.next_high_kt, form),
        row.altitude_correction_ft,
        row.airframes,
        row.note,
    )


def _printed(speed_kt: float | None, form: TableForm) -> float | None:
    return None if speed_kt is None else form.printed(speed_kt)


def _band(low_kt: float | None, high_kt: float | None, form: TableForm) -> Band | None:
    if low_kt is None or high_kt is None:
        return None
    return form.printed(low_kt), form.printed(high_kt)
