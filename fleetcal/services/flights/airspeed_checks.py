"""What speaks against an airspeed of a log: a dead sensor, a wrong unit, a copied column."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    Array,
    pressure_from_altitude,
)
from fleetcal.flightlog import Recording
from fleetcal.flightlog.unit_swaps import likely_unit

WORDS: Final = {
    "indicated_airspeed": "indicated airspeed",
    "impact_pressure": "impact pressure",
    "true_airspeed": "true airspeed",
}
_SEA_LEVEL_KGPM3: Final = 1.225
_ON_THE_MOVE_MPS: Final = 30.0
_DEAD_MPS: Final = 10.0
_FEWEST: Final = 20
# wind alone does not bring the median of airspeed over ground speed beyond these
_GROUND_RATIO: Final = (0.62, 1.6)
# 500 m make 2.5 % between indicated and true airspeed
_SAME: Final = 0.012
_HIGHER_M: Final = 500.0


def named(recording: Recording, quantity: str) -> str:
    """Return the words for an airspeed with its heading."""
    headings = {choice.quantity: f" '{choice.heading}'" for choice in recording.columns}
    return f"{WORDS[quantity]}{headings.get(quantity, '')}"


def dead_sources(recording: Recording, speeds: dict[str, Array]) -> dict[str, str]:
    """Tell which airspeeds show nothing while the aircraft moves over the ground.

    Args:
        speeds (n,): As indicated airspeed, m/s.

    Returns:
        Dead source -> what was seen.
    """
    ground = np.nan_to_num(recording.channels["ground_speed"])
    moving = ground > _ON_THE_MOVE_MPS
    if moving.sum() < _FEWEST:
        return {}
    found = {}
    for name, speed in speeds.items():
        known = speed[moving & np.isfinite(speed)]
        if known.size >= _FEWEST and float(np.percentile(known, 90)) < _DEAD_MPS:
            top, over = np.array([np.max(known), np.max(ground)]) / 0.514444
            found[name] = (
                f"{named(recording, name)} never shows more than {top:.0f} kt in flight "
                f"at up to {over:.0f} kt over the ground: a dead sensor"
            )
    return found


def clash_words(recording: Recording, pair: tuple[str, str], ratio: float) -> str:
    """Say that two airspeeds contradict each other, and what would explain it.

    Args:
        ratio: Speed by the first over speed by the second.
    """
    first, second = (named(recording, name) for name in pair)
    reason = _copied(recording, pair) or _unit_words(recording, pair, ratio)
    return (
        f"{recording.source_name}: {first} contradicts {second} with pressure and temperature: "
        f"it would mean {ratio:.2f} times the speed{reason}"
    )


def _unit_words(recording: Recording, pair: tuple[str, str], ratio: float) -> str:
    """Name the units that would bring two airspeeds together."""
    units = {choice.quantity: choice.unit for choice in recording.columns}
    causes = []
    for name, factor in zip(pair, (ratio, 1.0 / ratio), strict=True):
        other = likely_unit(factor, units.get(name, ""), within=0.06)
        if other:
            causes.append(f"the numbers of {named(recording, name)} were {other}")
    return f", as if {' or '.join(causes)}" if causes else ""


def _copied(recording: Recording, pair: tuple[str, str]) -> str:
    """Tell whether one column is the other in another unit, at whatever height.

    Indicated and true airspeed grow apart with height, so that a fixed ratio
    over some height is no reading of two sensors.
    """
    if "impact_pressure" in pair or "pressure_altitude" not in recording.channels:
        return ""
    first, second = (recording.channels[name] for name in pair)
    fast = np.nan_to_num(np.minimum(first, second)) > _DEAD_MPS
    if fast.sum() < _FEWEST:
        return ""
    altitude = recording.channels["pressure_altitude"][fast]
    if not np.isfinite(altitude).any():
        return ""
    low, high = np.nanpercentile(altitude, [10.0, 90.0])
    if not high - low > _HIGHER_M:
        return ""
    rounding = sum(
        recording.resolution.get(name, 0.0) / float(np.median(recording.channels[name][fast]))
        for name in pair
    )
    low, middle, high = np.percentile(first[fast] / second[fast], [10.0, 50.0, 90.0])
    swaps = (likely_unit(f, u, 0.015) for f in (middle, 1.0 / middle) for u in ("kt", "m/s"))
    if high - low > (_SAME + rounding) * middle or not any(swaps):
        return ""
    return (
        f"; it is {middle:.3f} times the other at every height, so one was made from the other "
        "and converted once too often"
    )


def ground_words(
    recording: Recording, chosen: str, airspeed_mps: Array, altitude_m: Array, temperature_k: Array
) -> list[str]:
    """Compare the chosen airspeed with the ground speed, as far as wind allows.

    Args:
        airspeed_mps, altitude_m, temperature_k: Shape (n,).

    Returns:
        A warning, if wind cannot explain the ratio.
    """
    ground = recording.channels["ground_speed"]
    density = pressure_from_altitude(altitude_m) / (GAS_CONSTANT_JPKGK * temperature_k)
    true = airspeed_mps * np.sqrt(_SEA_LEVEL_KGPM3 / density)
    fast = (np.maximum(true, ground) > _ON_THE_MOVE_MPS) & (np.minimum(true, ground) > 1.0)
    if fast.sum() < _FEWEST:
        return []
    ratio = float(np.median(true[fast] / ground[fast]))
    if _GROUND_RATIO[0] < ratio < _GROUND_RATIO[1]:
        return []
    unit = next((c.unit for c in recording.columns if c.quantity == chosen), "")
    other = likely_unit(ratio, unit, within=0.12)
    cause = f": its numbers look like {other}" if other else ""
    return [
        f"{recording.source_name}: {named(recording, chosen)} makes {ratio:.2f} times the ground "
        f"speed, more than wind explains{cause}"
    ]
