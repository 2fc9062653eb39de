"""The store that a verb works on: a path, an address, or one that was opened before."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, Union

if TYPE_CHECKING:
    from fleetcal.services.chosen_store import Store

#: Path of a file, address of a database, or an opened store. None stands for what the environment
#: variable FLEETCAL_STORE names, or else for the file in the user's data folder.
StorePlace: TypeAlias = Union[str, Path, "Store", None]


def open(store: str | Path | None = None) -> Store:
    """Open a store that several verbs are to work on.

    Args:
        store: File, or address of a PostgreSQL database. None stands for what the environment
            variable ``FLEETCAL_STORE`` names, or else for the file in the user's data folder.

    Returns:
        The store, to be given to the verbs as ``store=`` and closed by its ``with``.

    Raises:
        StoreError: If it is not there, or cannot be reached; `NotAStoreError`, `NewerStoreError`,
            `ReadOnlyStoreError` and `BusyStoreError` are of this kind.

    Example:
        >>> with fleetcal.open("corrie.store") as store:
        ...     print(fleetcal.curve("C-07", store=store))
    """
    from fleetcal.services.chosen_store import open_store

    return open_store(store, create=False)


@contextmanager
def opened(store: StorePlace, act: str) -> Iterator[Store]:
    """Yield a store; one that was opened before stays open.

    Args:
        act: What is being done, for the store's history.
    """
    from fleetcal.services.chosen_store import Store, acting_as, open_store

    acting_as(act)
    if isinstance(store, Store):
        yield store
        return
    with open_store(store, create=False) as one:
        yield one
