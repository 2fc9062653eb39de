"""The store that a command works on."""

from __future__ import annotations

from fleetcal.store import ACT, IssueSeries, PointFilter, Store, open_store

__all__ = ["IssueSeries", "PointFilter", "Store", "acting_as", "open_store"]


def acting_as(words: str) -> None:
    """Let the history of the store say from now on that this is what is being done.

    Parameters
    ----------
    words : str
        Of the command, without what it works on.
    """
    ACT.set(words)
