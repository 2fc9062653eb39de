"""Whether two tables print the same digits, whatever version made them."""

from __future__ import annotations

from dataclasses import replace

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_csv import table_csv


def same_digits(made: PooledTable, kept: PooledTable) -> bool:
    """Tell whether a reader sees the same numbers, in all that the kept table has.

    Args:
        made: Worked out anew.
        kept: As it was published, perhaps by an older version.
    """
    return _printed(_as_kept(made, kept)) == _printed(_as_kept(kept, kept))


def _as_kept(made: PooledTable, kept: PooledTable) -> PooledTable:
    """Return a table without what older versions did not keep, if a kept one is of those."""
    counted = [row.flown_by for row in kept.rows] + [row.flown_by for row in kept.readings]
    if any(count is not None for count in counted):
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


def _printed(table: PooledTable) -> str:
    """Return what a reader sees of the numbers."""
    return table_csv(replace(table, program_version=""))
