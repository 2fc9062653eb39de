"""What a sortie's page says of how its points came about: what was read, and what was taken."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from fleetcal.records import Leg
from fleetcal.store import StoredPoint
from fleetcal.wording import counted, decimal

Fact = tuple[str, str]


def sortie_facts(
    rows: Sequence[StoredPoint], legs: Sequence[Leg], settings_json: str
) -> tuple[Fact, ...]:
    """Return names and words of what was read and what was taken.

    Args:
        rows: Its points.
        settings_json: As it is kept with the sortie; what it does not have is left out.
    """
    kept = json.loads(settings_json)
    found = [
        ("Read", _flown(rows, legs)),
        ("Pressure altitude", _span([leg.pressure_altitude_ft for leg in legs], 0, "ft")),
        ("Thermometer", _span([leg.oat_degc for leg in legs], 1, "°C as it read")),
        ("Airspeed from", str(kept.get("airspeed_from", "")).replace("_", " ")),
        ("Indicator", _bench(kept.get("bench"))),
        ("Humidity", _humidity(kept.get("humidity"))),
        ("Recovery factor", _recovery(kept.get("temperature"))),
        ("Tracks from", f"{rows[0].track_reference} north" if legs else ""),
        ("Weight", f"{decimal(rows[0].weight_kg, 0)} kg"),
    ]
    return tuple((name, words) for name, words in found if words)


def _flown(rows: Sequence[StoredPoint], legs: Sequence[Leg]) -> str:
    if not legs:
        return counted(len(rows), "point")
    runs = len({leg.run_number for leg in legs})
    return f"{counted(len(legs), 'steady leg')} in {counted(runs, 'run')}"


def _span(values: Sequence[float | None], places: int, unit: str) -> str:
    known = [value for value in values if value is not None]
    if not known:
        return ""
    low, high = decimal(min(known), places), decimal(max(known), places)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def _bench(kept: Any) -> str:
    if not isinstance(kept, dict):
        return ""
    if kept.get("airspeed") is None:
        return "without a bench check: its own error is part of the uncertainty"
    return "corrected by its bench check"


def _humidity(kept: Any) -> str:
    if not isinstance(kept, dict) or not isinstance(kept.get("humidity_pct"), float | int):
        return ""
    words = f"{kept['humidity_pct']:.0f}\u00a0%"
    doubt = kept.get("u_humidity_pct")
    if isinstance(doubt, float | int):
        words += f", u {doubt:.0f}\u00a0%"
    return f"{words}; nobody noted it" if kept.get("from") == "nobody" else words


def _recovery(kept: Any) -> str:
    if not isinstance(kept, dict) or not isinstance(kept.get("recovery_factor"), float | int):
        return ""
    return f"{kept['recovery_factor']:.2f} of the thermometer"
