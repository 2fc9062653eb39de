"""Names in a store that somebody may begin to type."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.services.fleet.describe_fleet import show_fleet
from fleetcal.store import Store, open_store

#: Whoever waits for a completed word waits no longer for a store.
_PATIENCE_S = 1.0


@dataclass(frozen=True, kw_only=True)
class KnownNames:
    """Names, each once and in order.

    Attributes:
        groups: Static sources, and each with a pairing that is fitted with it.
    """

    airframes: tuple[str, ...]
    types: tuple[str, ...]
    static_sources: tuple[str, ...]
    pairings: tuple[str, ...]
    groups: tuple[str, ...]


def known_names(where: str | None) -> KnownNames:
    """Return the names in a store as it is: it is neither made nor upgraded.

    Raises:
        StoreError: If there is no store, or an older one.
    """
    with open_store(where, create=False, upgrade=False, patience_s=_PATIENCE_S) as store:
        return names_of(store)


def names_of(store: Store) -> KnownNames:
    """Return the names in an open store."""
    fleet = show_fleet(store)
    fits = [line for line in fleet.fits if line.static_source]
    sources = {line.static_source for line in fits}
    full = {f"{line.static_source} / {line.engine} / {line.propeller}" for line in fits}
    return KnownNames(
        airframes=tuple(sorted({line.airframe for line in fleet.fits})),
        types=tuple(sorted(fleet.types)),
        static_sources=tuple(sorted(sources)),
        pairings=tuple(sorted({f"{line.engine} / {line.propeller}" for line in fits})),
        groups=tuple(sorted(sources | full)),
    )
