"""The store that a command works on."""

from __future__ import annotations

from fleetcal.store import PointFilter, Store, open_store

__all__ = ["PointFilter", "Store", "open_store"]
