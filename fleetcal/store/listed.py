"""Flights and files of the store as they are listed, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

#: In what is kept with a sortie: that its weight is the reference weight of its type.
WEIGHT_SUPPOSED: Final = "weight_supposed"


@dataclass(frozen=True)
class SortieLine:
    """A sortie in a few words."""

    sortie_id: int
    airframe: str
    flown_on: date
    weight_kg: float


@dataclass(frozen=True, kw_only=True)
class StoredFlight:
    """A sortie that was reduced from a file.

    Attributes:
        airframe: Tag.
        is_kept: Whether its file is kept in the store.
    """

    sortie_id: int
    airframe: str
    file: str
    sha256: str
    flown_on: date
    weight_kg: float
    track_reference: str
    settings_json: str
    note: str
    added_at: datetime
    is_kept: bool


@dataclass(frozen=True, kw_only=True)
class LogRow:
    """A log that is kept.

    Attributes:
        airframes: Tags of those that flew in it.
        flown_on: First day.
        file_bytes, packed_bytes: As a file, and in the store.
    """

    log_id: int
    file: str
    sha256: str
    airframes: str
    flown_on: date | None
    file_bytes: int
    packed_bytes: int
    kept_at: datetime


@dataclass(frozen=True, kw_only=True)
class WeightCorrected:
    """A flight that counts with another weight now.

    Attributes:
        climbs: That keep the weight they were reduced with.
    """

    sortie_id: int
    airframe: str
    file: str
    flown_on: date
    before_kg: float
    now_kg: float
    points: int
    climbs: int
