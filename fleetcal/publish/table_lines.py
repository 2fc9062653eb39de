"""The printed lines of a table: whichever way it is read, in its own unit of speed.

Every format prints these lines, so that no two formats can say different things.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit, lowest_bound
from fleetcal.publish.table_row import TableRow

Band = tuple[float, float]
_NEAR_INTEGER: Final = 1e-6


@dataclass(frozen=True)
class TableLine:
    """One line; speeds in the unit of the form.

    Attributes:
        beyond: Name of the limit that the line lies above, which is not for flying; empty if none.
    """

    row: TableRow
    form: TableForm
    beyond: str = ""

    @property
    def given(self) -> float:
        """The round speed that the line is looked up by."""
        return self.form.printed(self.row.given_kt)

    @property
    def answer(self) -> float | None:
        """The other speed; None where the data do not reach, with the reason in the note."""
        return self._printed(self.row.answer_kt)

    @property
    def light(self) -> float | None:
        """The other speed at the light weight of the table."""
        return self._printed(self.row.light_answer_kt)

    @property
    def correction(self) -> float | None:
        """CAS - IAS."""
        return self._printed(self.row.correction_kt)

    @property
    def mean(self) -> Band | None:
        """95 % band of the group's mean: of the correction, or of the IAS in a table from CAS."""
        return self._band(self.row.mean_low_kt, self.row.mean_high_kt)

    @property
    def following(self) -> Band | None:
        """95 % band of another aircraft of the group, as `mean`."""
        return self._band(self.row.next_low_kt, self.row.next_high_kt)

    @property
    def from_group(self) -> bool:
        """Whether a line of one airframe's table is from its group, as the airframe never flew it.

        A line of a group has a note too where few aircraft reach its speed.
        """
        return bool(self.row.note) and not self.row.is_empty

    @property
    def note(self) -> str:
        """Why there are no values, or what is to be said of them."""
        return self.row.note

    def _printed(self, speed_kt: float | None) -> float | None:
        return None if speed_kt is None else self.form.printed(speed_kt)

    def _band(self, low_kt: float | None, high_kt: float | None) -> Band | None:
        low, high = self._printed(low_kt), self._printed(high_kt)
        return None if low is None or high is None else (low, high)


def table_lines(table: PooledTable) -> tuple[TableLine, ...]:
    """Return the lines of a table."""
    bound = lowest_bound(table.limits)
    return tuple(
        TableLine(row, table.form, bound.name if bound and _passes(row, bound) else "")
        for row in (table.readings if table.form.from_cas else table.rows)
    )


def _passes(row: TableRow, bound: TableLimit) -> bool:
    return row.ias_kt is not None and row.ias_kt > bound.usable_kt


def first_beyond(lines: Sequence[TableLine]) -> int:
    """Return the place of the first line above a bound; the number of lines if there is none."""
    return next((place for place, line in enumerate(lines) if line.beyond), len(lines))


def note_of(line: TableLine) -> str:
    """Return the note of a line, or that it lies above a limit."""
    return line.note or (f"above {line.beyond}" if line.beyond else "")


def given_places(lines: tuple[TableLine, ...]) -> int:
    """Return how many decimals the looked-up speeds need: none if all are whole."""
    return 0 if all(abs(line.given - round(line.given)) < _NEAR_INTEGER for line in lines) else 1
