"""A table without the registrations that a site does not show."""

from __future__ import annotations

from dataclasses import replace

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.services.publishing.discretion import Discretion


def discreet_table(table: PooledTable, discretion: Discretion) -> PooledTable:
    """Return a table whose sentences say no more than the site may."""
    discreet = discretion.words
    return replace(
        table,
        left_out=tuple(map(discreet, table.left_out)),
        doubts=tuple(map(discreet, table.doubts)),
        model=discreet(table.model),
        limits=tuple(replace(limit, reasons=discreet(limit.reasons)) for limit in table.limits),
    )
