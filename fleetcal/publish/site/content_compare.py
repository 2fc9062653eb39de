"""What the page that compares two airframes holds."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.publish.pooled_table import PooledTable


@dataclass(frozen=True, kw_only=True)
class ComparePage:
    """The own tables of two airframes, and the difference of their corrections.

    Attributes:
        pages: Of the two airframes, from the root of the site.
        rows (tuple of (ias, first, second, difference, low, high)): Second less first, kt, at
            speeds that both flew, with a band that holds in at least 95 of 100 cases.
    """

    first: PooledTable
    second: PooledTable
    tags: tuple[str, str]
    pages: tuple[str, str]
    rows: tuple[tuple[float, ...], ...]
