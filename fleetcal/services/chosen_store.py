"""The store that a command works on."""

from __future__ import annotations

from collections.abc import Callable

from fleetcal.store import ACT, TELL, IssueSeries, PointFilter, Store, open_store

__all__ = ["IssueSeries", "PointFilter", "Store", "acting_as", "open_store", "telling"]


def telling(how: Callable[[str], None]) -> None:
    """Let whoever runs the program know, from now on, what an upgrade of the store found.

    Args:
        how: Given one sentence at a time.
    """
    TELL.set(how)


def acting_as(words: str) -> None:
    """Let the history of the store say from now on that this is what is being done.

    Args:
        words: Of the command, without what it works on.
    """
    ACT.set(words)
