"""List the climbs and glides in the store."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.services.curves.groups import find_type
from fleetcal.store import ClimbRow, Store, load_description, select_climbs


@dataclass(frozen=True)
class ClimbList:
    """All climbs and glides, or those of one type."""

    climbs: tuple[ClimbRow, ...]


def list_climbs(store: Store, type_name: str | None) -> ClimbList:
    """Return the climbs and glides in the store.

    Parameters
    ----------
    store : Store
    type_name : str or None
        All types when None.

    Returns
    -------
    ClimbList

    Raises
    ------
    UnknownNameError
        If the type is not in the store.
    """
    with store.reading() as session:
        name = find_type(load_description(session), type_name).name if type_name else None
        return ClimbList(tuple(select_climbs(session, name)))
