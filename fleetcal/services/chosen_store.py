"""The store that a command works on."""

from __future__ import annotations

from fleetcal.store import IssueSeries, PointFilter, Store, open_store

__all__ = ["IssueSeries", "PointFilter", "Store", "open_store"]
