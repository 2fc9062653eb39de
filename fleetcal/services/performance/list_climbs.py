"""List the climbs and glides in the store."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.services.curves.groups import find_type
from fleetcal.store import (
    Store,
    StoredClimb,
    load_description,
    select_climbs,
    type_of_airframe,
)


@dataclass(frozen=True)
class ClimbList:
    """All climbs and glides, or those of one type."""

    climbs: tuple[StoredClimb, ...]


def list_climbs(
    store: Store,
    type_name: str | None = None,
    airframe: str | None = None,
    kind: str | None = None,
    accepted: bool | None = None,
) -> ClimbList:
    """Return the climbs and glides in the store.

    Args:
        type_name, airframe, kind: All when None.

    Raises:
        UnknownNameError: If the type or the airframe is not in the store.
    """
    with store.lookup() as reader:
        name = find_type(load_description(reader), type_name).name if type_name else None
        if airframe is not None:
            type_of_airframe(reader, airframe)  # refuses one that is not there
        rows = select_climbs(reader, name, kind, airframe)
    return ClimbList(tuple(row for row in rows if accepted in (None, row.accepted)))
