"""What one flight brings into the store, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class NewSortie:
    """One flight.

    Attributes:
        airframe: Its tag.
        track_reference: ``true``, ``magnetic`` or ``unknown``.
        settings_json: The settings the flight was reduced with, as JSON.
    """

    airframe: str
    flown_on: date
    weight_kg: float
    track_reference: str = "unknown"
    settings_json: str = "{}"
    note: str = ""
