"""Back up a store, and bring a backup back."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fleetcal.store import Store
from fleetcal.store.copies import back_up, back_up_open, bring_back
from fleetcal.store.roles import roles_sql

__all__ = ["BroughtBack", "backup_of", "backup_store", "restore_store", "roles_sql"]


@dataclass(frozen=True)
class BroughtBack:
    """What came back."""

    backup: str
    rows: int
    points: int


def backup_store(where: str | None, target: Path) -> None:
    """Copy a store into a new file; see `fleetcal.store.copies.back_up`."""
    back_up(where, target)


def backup_of(store: Store, target: Path) -> None:
    """Copy an open store into a new file; see `fleetcal.store.copies.back_up`."""
    back_up_open(store, target)


def restore_store(where: str | None, backup: Path, *, replace: bool) -> BroughtBack:
    """Put a backup into a store.

    Args:
        where: The store; made if it is not there.
        replace: Whether what the store holds may go.

    Raises:
        FleetcalError: As `fleetcal.store.copies.bring_back` does.
    """
    counts = bring_back(where, backup, replace=replace)
    return BroughtBack(str(backup), sum(counts.values()), counts["calibration_point"])
