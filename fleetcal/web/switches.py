"""What the numbers of a page are for: weight, altitude and unit, from the address of the page."""

from __future__ import annotations

from flask import request

from fleetcal.errors import DataError
from fleetcal.publish.site.frame import Switches
from fleetcal.publish.table_form import SPEED_UNITS
from fleetcal.services.publishing.site_groups import SiteTables


def switches_now() -> Switches:
    """Return what is chosen, as it was typed."""
    return Switches(
        weight_kg=_typed("weight_kg"),
        altitude_ft=_typed("altitude_ft"),
        speed_unit=_typed("speed_unit"),
        units=SPEED_UNITS,
    )


def tables_chosen() -> SiteTables:
    """Return what is chosen.

    Raises:
        DataError: If a number is none, or far off.
    """
    return SiteTables(
        weight_kg=_number("weight_kg", "weight", 1.0, 100000.0),
        altitude_ft=_number("altitude_ft", "pressure altitude", -1000.0, 30000.0) or 0.0,
        speed_unit=_typed("speed_unit") or "kt",
    )


def _typed(name: str) -> str:
    return request.args.get(name, "").strip()


def _number(name: str, words: str, low: float, high: float) -> float | None:
    text = _typed(name).replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise DataError(f"{text!r} is no {words}", f"give a number from {low:g} to {high:g}")
    return value
