"""Sensors that stand still while the aircraft moves on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.errors import ImplausibleError
from fleetcal.flightlog.cells import Floats
from fleetcal.units import M_PER_FT, MPS_PER_KT, RAD_PER_DEG

_FLYING_MPS: Final = 20.0
_FLYING_PA: Final = 245.0  # impact pressure at that speed, sea level
_FINE_MPS: Final = 0.26 * MPS_PER_KT
_SHORT_S: Final = 30.0
_LONG_S: Final = 60.0
_CALM_S: Final = 150.0
_FEWEST: Final = 10
_DISTINCT: Final = 8
_MOST: Final = 0.5  # beyond this share of the flight nothing is left to go by
_SOURCES: Final = ("indicated_airspeed", "impact_pressure", "true_airspeed")
_AIRSPEEDS: Final = ("indicated_airspeed", "true_airspeed")
_AIR: Final = ("pressure_altitude", "static_pressure")
# channels that stand still together, and what shows that the aircraft moved
_CASES: Final = (
    (("ground_speed", "track"), (*_SOURCES, *_AIR, "heading")),
    (("indicated_airspeed",), (*_AIR, "true_airspeed")),
    (("true_airspeed",), (*_AIR, "indicated_airspeed")),
    (("impact_pressure",), ("true_airspeed", "indicated_airspeed")),
    (("pressure_altitude",), ("gps_altitude", "static_pressure", "temperature")),
    (("ground_speed",), ("track", *_SOURCES)),
)
# A ground speed alone may rest through part of a turn in calm air, and air may be warmer a few
# miles on: for how long a channel alone must rest before such a witness counts.
_PATIENCE_S: Final[dict[tuple[tuple[str, ...], str], float]] = {
    (("pressure_altitude",), "temperature"): 300.0,
    **{(("ground_speed",), witness): _CALM_S for witness in ("track", *_SOURCES)},
}
# how far a channel must go to count as moving, SI
_MOVES: Final = {
    "indicated_airspeed": 6.0 * MPS_PER_KT,
    "true_airspeed": 6.0 * MPS_PER_KT,
    "impact_pressure": 150.0,
    "pressure_altitude": 200.0 * M_PER_FT,
    "static_pressure": 700.0,
    "heading": 15.0 * RAD_PER_DEG,
    "ground_speed": 15.0 * MPS_PER_KT,
    "gps_altitude": 200.0 * M_PER_FT,
    "track": 120.0 * RAD_PER_DEG,
    "temperature": 4.0,
}


@dataclass(frozen=True)
class _Stretch:
    start: int
    stop: int


def without_frozen(
    source_name: str,
    t_s: Floats,
    channels: Mapping[str, Floats],
    resolution: Mapping[str, float],
    lines: npt.NDArray[np.int32],
) -> tuple[dict[str, Floats], tuple[str, ...]]:
    """Leave out what sensors logged while they stood still.

    A sensor is taken to stand still when not one of its digits changes for half
    a minute or more, while others show that the aircraft moved, or, where it is
    logged to a quarter of a knot or finer, while others never rest.

    Args:
        t_s: Shape (n,).
        channels (n,): SI.
        lines: Shape (n,).

    Returns:
        Channels with NaN in such stretches, and what was left out.

    Raises:
        ImplausibleError: If a sensor stood still for more than half of the flight.
    """
    found = dict(channels)
    warnings: list[str] = []
    flying = _flying(channels)
    for names, witnesses in _CASES:
        if not all(name in found for name in names):
            continue
        present = [name for name in witnesses if name in channels]
        stretches = _stood_still(
            t_s, names, present, channels=channels, resolution=resolution, flying=flying
        )
        if not stretches:
            continue
        still = np.zeros(t_s.size, dtype=bool)
        for stretch in stretches:
            still[stretch.start : stretch.stop] = True
        words = _words(names, stretches, t_s, lines)
        if still[flying].mean() <= _MOST:
            warnings.append(f"{words}; left out there")
            for name in names:
                found[name] = np.where(still, np.nan, found[name])
        elif names[0] in _SOURCES and any(n in found for n in _SOURCES if n not in names):
            warnings.append(f"{words}; not used")
            del found[names[0]]
        else:
            raise ImplausibleError(
                f"{source_name}: {words}; that is more than half of the flight.",
                "The sensor or its recording was dead; the log cannot be reduced with it.",
            )
    return found, tuple(warnings)


def _flying(channels: Mapping[str, Floats]) -> npt.NDArray[np.bool_]:
    """Tell where any airspeed, or the ground speed, is that of flight."""
    with np.errstate(invalid="ignore"):  # a missing one is none of flight
        fast = channels["ground_speed"] > _FLYING_MPS
        for name in _AIRSPEEDS:
            if name in channels:
                fast |= channels[name] > _FLYING_MPS
        if "impact_pressure" in channels:
            fast |= channels["impact_pressure"] > _FLYING_PA
    return fast


def _stood_still(
    t_s: Floats,
    names: tuple[str, ...],
    witnesses: list[str],
    channels: Mapping[str, Floats],
    resolution: Mapping[str, float],
    flying: npt.NDArray[np.bool_],
) -> list[_Stretch]:
    """Find the stretches in which none of some channels changes, against the witnesses."""
    same = channels[names[0]][1:] == channels[names[0]][:-1]
    for name in names[1:]:
        same &= channels[name][1:] == channels[name][:-1]
    same &= flying[1:]
    same &= flying[:-1]
    if not _row_of(same, _FEWEST - 1):
        return []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], same, [False]]).astype(np.int8)))
    starts, stops = edges[::2], edges[1::2] + 1
    if not starts.size:
        return []
    lasting = (t_s[stops - 1] - t_s[starts] >= _SHORT_S) & (stops - starts >= _FEWEST)
    step = resolution.get(names[0], 0.0)
    fine = names[0] in (*_AIRSPEEDS, "ground_speed") and step <= _FINE_MPS
    found = []
    for start, stop in zip(starts[lasting].tolist(), stops[lasting].tolist(), strict=True):
        rested_s = t_s[stop - 1] - t_s[start]
        witnessed = [n for n in witnesses if rested_s >= _PATIENCE_S.get((names, n), 0.0)]
        part = {name: channels[name][start:stop] for name in witnessed}
        long = rested_s >= _LONG_S or names[0] == "ground_speed"
        # In calm air whole knots and degrees may well rest for a minute of steady
        # descent: for ground speed, a change of height proves nothing sooner.
        height_tells = names[0] != "ground_speed" or rested_s >= _CALM_S
        moves = any(
            _moves(name, values)
            for name, values in part.items()
            if height_tells or name not in _AIR
        )
        if (long and moves) or (fine and any(_rests_never(v) for v in part.values())):
            found.append(_Stretch(start, stop))
    return found


def _row_of(same: npt.NDArray[np.bool_], fewest: int) -> bool:
    """Tell whether so many in a row may be true: surely not where a power of two of them is not."""
    count = 1
    while 2 * count <= fewest:
        same = same[count:] & same[:-count]
        count *= 2
    return bool(same.any())


def _moves(name: str, values: Floats) -> bool:
    """Tell whether a witness goes far enough."""
    known = values[np.isfinite(values)]
    if known.size < _FEWEST:
        return False
    known = np.unwrap(known) if name in {"heading", "track"} else known
    return bool(np.ptp(known) >= _MOVES[name])


def _rests_never(values: Floats) -> bool:
    """Tell whether a witness shows many different values."""
    known = values[np.isfinite(values)]
    return bool(known.size >= _FEWEST and np.unique(known).size >= _DISTINCT)


def _words(
    names: tuple[str, ...],
    stretches: list[_Stretch],
    t_s: Floats,
    lines: npt.NDArray[np.int32],
) -> str:
    longest = max(stretches, key=lambda s: t_s[s.stop - 1] - t_s[s.start])
    lasts = t_s[longest.stop - 1] - t_s[longest.start]
    more = f" and in {len(stretches) - 1} more stretches" if len(stretches) > 1 else ""
    return (
        f"{' and '.join(name.replace('_', ' ') for name in names)} stood still for {lasts:.0f} s "
        f"(lines {lines[longest.start]} to {lines[longest.stop - 1]}){more} "
        "while the aircraft moved on"
    )
