"""What the parts of a flight that are solved are called, by the technique of their points."""

from __future__ import annotations

from typing import Final

from fleetcal.records import GPS_MANOEUVRE, ORDINARY_FLIGHT

_WORDS: Final = {
    GPS_MANOEUVRE: ("manoeuvre", "manoeuvres"),
    ORDINARY_FLIGHT: ("stretch", "stretches"),
}


def part_word(technique: str, count: int = 1) -> str:
    """Return the noun for one part, or for several.

    Args:
        technique: Of the points.
    """
    one, many = _WORDS.get(technique, ("run", "runs"))
    return one if count == 1 else many
