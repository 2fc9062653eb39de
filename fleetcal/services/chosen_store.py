"""The store that a command works on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeAlias

from fleetcal.store import ACT, CHANGED, TELL, IssueSeries, PointFilter, Store, open_store

__all__ = [
    "IssueSeries",
    "PointFilter",
    "Store",
    "StorePlace",
    "acting_as",
    "has_stored",
    "open_store",
    "store_at",
    "telling",
]

#: Where a store is, as `open_store` takes it, or a store that is open already.
StorePlace: TypeAlias = str | Path | Store | None


@contextmanager
def store_at(where: StorePlace, *, create: bool = True) -> Iterator[Store]:
    """Yield the store at a place; one that is open already stays open.

    Args:
        create: Whether a store that is not there is made.
    """
    if isinstance(where, Store):
        yield where
        return
    with open_store(where, create=create) as store:
        yield store


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
    CHANGED.set(False)


def has_stored() -> bool:
    """Tell whether what is being done has changed a store."""
    return CHANGED.get()
