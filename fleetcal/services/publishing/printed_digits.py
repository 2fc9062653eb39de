"""Whether two tables print the same digits, whatever version made them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from typing import Any, Final

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_csv import table_csv
from fleetcal.publish.table_row import TableRow

#: Values of a row that came after these are known to be missing where no kept row has one.
_LAST_CERTAIN: Final = "light_correction_kt"


def same_digits(made: PooledTable, kept: PooledTable) -> bool:
    """Tell whether a reader sees the same numbers, in all that the kept table has.

    Args:
        made: Worked out anew.
        kept: As it was published, perhaps by an older version.
    """
    return _printed(as_kept(made, kept)) == _printed(as_kept(kept, kept))


def as_kept(made: PooledTable, kept: PooledTable) -> PooledTable:
    """Return a table without what older versions did not keep, if a kept one is of those."""
    rows = (*kept.rows, *kept.readings)
    missing: dict[str, Any] = dict.fromkeys(_missing(rows))
    made = replace(
        made,
        rows=tuple(replace(row, **missing) for row in made.rows),
        readings=tuple(replace(row, **missing) for row in made.readings),
    )
    if any(row.flown_by is not None for row in rows):
        return made
    return replace(
        made,
        light_weight_kg=None,
        rows=tuple(
            replace(row, flown_by=None, light_correction_kt=None, note=row.note and "empty")
            for row in made.rows
        ),
        readings=tuple(
            replace(row, flown_by=None, light_correction_kt=None, note=row.note and "empty")
            for row in made.readings
        ),
    )


def _missing(kept: Iterable[TableRow]) -> list[str]:
    """Return the newer values of a row that no kept row has."""
    rows = list(kept)
    names = [field.name for row in rows[:1] for field in fields(row)]
    newer = names[names.index(_LAST_CERTAIN) + 1 :] if names else []
    return [name for name in newer if all(getattr(row, name) is None for row in rows)]


def _printed(table: PooledTable) -> str:
    """Return what a reader sees of the numbers."""
    return table_csv(replace(table, program_version=""))
