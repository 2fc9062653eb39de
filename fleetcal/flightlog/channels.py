"""From logged columns to channels in SI, one for each quantity that the work needs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.altimeter import pressure_altitude_from_setting
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.columns import ColumnChoice
from fleetcal.flightlog.fuel import density_words, mass_factor
from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.positions import COARSEST_RAD, ground_vector
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.resolution import smallest_step
from fleetcal.units import to_si

# lowest and highest believable value in SI; what lies outside counts as missing
LIMITS: Final[dict[str, tuple[float, float]]] = {
    "indicated_airspeed": (-5.0, 400.0),
    "true_airspeed": (-5.0, 400.0),
    "ground_speed": (-1.0, 500.0),
    "impact_pressure": (-2000.0, 60000.0),
    "static_pressure": (5000.0, 115000.0),
    "altimeter_setting": (85000.0, 110000.0),
    "pressure_altitude": (-1000.0, 20000.0),
    "baro_altitude": (-1000.0, 20000.0),
    "gps_altitude": (-1000.0, 20000.0),
    "track": (-6.9, 6.9),
    "heading": (-6.9, 6.9),
    "roll": (-3.2, 3.2),
    "vertical_speed": (-100.0, 100.0),
    "static_temperature": (180.0, 340.0),
    "total_temperature": (180.0, 340.0),
    "probe_temperature": (180.0, 340.0),
    "relative_humidity": (0.0, 1.1),
    "dew_point": (180.0, 320.0),
    "mach": (0.0, 1.0),
    "latitude": (-1.58, 1.58),
    "longitude": (-6.3, 6.3),
    "fuel_flow": (0.0, 1.0),
    "fuel_quantity": (0.0, 5000.0),
}
_FUEL: Final = frozenset({"fuel_flow", "fuel_quantity"})
_SEA_LEVEL_K: Final = 288.15
_BELIEVABLE_K: Final = 40.0
_TEMPERATURES: Final = ("static_temperature", "total_temperature", "probe_temperature")


def in_si(values: Floats, choice: ColumnChoice) -> Floats:
    """Convert the numbers of a column to SI; fuel becomes mass.

    Args:
        values: Shape (n,).

    Returns:
        Shape (n,).
    """
    if choice.quantity in _FUEL:
        return values * mass_factor(choice.unit)
    return np.asarray(to_si(values, choice.unit), dtype=np.float64)


def believable(
    choice: ColumnChoice,
    logged: Floats,
    lines: npt.NDArray[np.int32],
    warnings: list[str],
) -> Floats:
    """Convert to SI; values that cannot be become NaN and are named.

    Args:
        logged (n,): As written.
        lines: Shape (n,).
        warnings: Is added to.

    Returns:
        Shape (n,).
    """
    values = in_si(logged, choice)
    low, high = LIMITS[choice.quantity]
    if np.fmin.reduce(values) >= low and np.fmax.reduce(values) <= high:
        return values
    with np.errstate(invalid="ignore"):
        wrong = (values < low) | (values > high)
    if wrong.any():
        first = int(np.argmax(wrong))
        warnings.append(
            f"{int(wrong.sum())} impossible values of '{choice.heading}' count as missing, "
            f"first {logged[first]:g} in line {lines[first]}{_other_scale(choice, logged, wrong)}"
        )
    values[wrong] = np.nan
    return values


def _other_scale(choice: ColumnChoice, logged: Floats, wrong: npt.NDArray[np.bool_]) -> str:
    """Name the temperature unit in which most of a column would be believable, if it is another."""
    known = np.isfinite(logged)
    if choice.quantity not in _TEMPERATURES or 2 * wrong.sum() < known.sum():
        return ""
    for unit in ("degC", "degF", "K"):
        off = np.median(to_si(logged[known], unit)) - _SEA_LEVEL_K
        if unit != choice.unit and abs(off) < _BELIEVABLE_K:
            return f"; its numbers look like {unit}"
    return ""


def step_of(choice: ColumnChoice, logged: Floats) -> float:
    """Return the step in which a column is logged, in SI.

    Args:
        logged: Shape (n,).
    """
    if choice.quantity in _FUEL:
        return 0.0
    return smallest_step(logged, choice.unit, choice.sample)


def settle_temperature(channels: dict[str, Floats], resolution: dict[str, float]) -> str:
    """Name the best temperature ``temperature`` and return its kind.

    Args:
        channels, resolution: Are changed.

    Returns:
        static, total or probe.
    """
    present = [q for q in _TEMPERATURES if q in channels and np.isfinite(channels[q]).any()]
    if not present:
        return "probe"
    chosen = present[0]
    channels["temperature"] = channels[chosen]
    resolution["temperature"] = resolution[chosen]
    for quantity in ("static_temperature", "probe_temperature"):
        channels.pop(quantity, None)
        resolution.pop(quantity, None)
    return chosen.removesuffix("_temperature")


def settle_altitude(
    channels: dict[str, Floats], resolution: dict[str, float], warnings: list[str]
) -> None:
    """Work out pressure altitude from an altimeter and its setting where it is not logged.

    Args:
        channels, resolution: Are added to.
    """
    if (
        "pressure_altitude" in channels
        or not {"baro_altitude", "altimeter_setting"} <= channels.keys()
    ):
        return
    setting = _held(channels["altimeter_setting"])
    channels["pressure_altitude"] = pressure_altitude_from_setting(
        channels["baro_altitude"], setting
    )
    resolution["pressure_altitude"] = resolution["baro_altitude"]
    warnings.append("pressure altitude is worked out from the altimeter and its logged setting")


def settle_ground(
    t_s: Floats, channels: dict[str, Floats], resolution: dict[str, float], warnings: list[str]
) -> bool:
    """Work out ground speed and track from positions where they are not logged.

    Args:
        t_s: Shape (n,).
        channels, resolution: Are added to.

    Returns:
        Whether the track now counts from true north by its making.
    """
    lacking = [q for q in ("ground_speed", "track") if not _filled(channels, q)]
    if not lacking or not {"latitude", "longitude"} <= channels.keys():
        return False
    step = max(resolution["latitude"], resolution["longitude"])
    if step > COARSEST_RAD:
        warnings.append("positions are too coarse to work out ground speed and track from them")
        return False
    middle = channels.get("gps_altitude", channels.get("pressure_altitude", np.zeros(1)))
    height = float(np.nanmedian(middle)) if np.isfinite(middle).any() else 0.0
    found = dict(
        zip(
            ("ground_speed", "track"),
            ground_vector(t_s, channels["latitude"], channels["longitude"], height),
            strict=True,
        )
    )
    for quantity in lacking:
        channels[quantity] = found[quantity]
        resolution[quantity] = 0.0
    warnings.append(f"{' and '.join(q.replace('_', ' ') for q in lacking)} from positions")
    return "track" in lacking


def _filled(channels: dict[str, Floats], quantity: str) -> bool:
    return quantity in channels and bool(np.isfinite(channels[quantity]).any())


def _held(values: Floats) -> Floats:
    """Carry the last known value forward (and the first one back) over missing samples."""
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return values
    last = np.searchsorted(known, np.arange(values.size), side="right") - 1
    return np.asarray(values[known[np.maximum(last, 0)]], dtype=np.float64)


def assumptions(used: Iterable[ColumnChoice]) -> list[str]:
    """Say where a unit, a word or a density was assumed."""
    found = []
    for choice in used:
        if not choice.unit_stated:
            found.append(f"'{choice.heading}' states no unit; {choice.unit} is assumed")
        density = density_words(choice.unit, choice.heading)
        if density:
            found.append(density)
        if choice.mapped:
            continue
        heading = take_apart(choice.heading)
        if choice.quantity == "indicated_airspeed" and "indicated" not in heading.words:
            found.append(f"'{choice.heading}' is taken as indicated airspeed")
        if choice.quantity == "impact_pressure" and "dyn" in choice.heading.lower():
            found.append(f"'{choice.heading}' is taken as impact pressure")
    return found


def track_reference(table: RawTable, choices: tuple[ColumnChoice, ...]) -> str:
    """Tell whether tracks count from true or magnetic north, by the words of the heading.

    Returns:
        true, magnetic or unknown.
    """
    for choice in choices:
        if choice.quantity == "track":
            heading = take_apart(choice.heading, table.units[choice.index])
            words = heading.words | {text.lower().strip("°") for text in heading.unit_texts}
            if words & {"true", "degt", "t", "deg t", "degrees_true"}:
                return "true"
            if words & {"magnetic", "degm", "m", "deg m"}:
                return "magnetic"
    return "unknown"
