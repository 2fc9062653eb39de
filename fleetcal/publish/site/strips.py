"""Readings of a flight against time, one strip below another, thinned to what a screen shows.

Of all samples that share a column of pixels only the lowest and the highest are drawn, in the
order in which they came: no peak is lost, and hours at ten samples a second stay small.
Along, places are shares of the width, so that one drawing fits every screen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.publish.flight_picture import FlightHistory, Floats
from fleetcal.publish.site.chart import ticks

#: Width and height of the drawing inside a strip, which is stretched to its place.
WIDTH, HEIGHT = 1000.0, 100.0
#: Columns that are told apart.
_COLUMNS: Final = 700
_MOST_TICKS: Final = 3
_TIME_STEPS: Final = (5, 10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400)
_MOST_TIMES: Final = 6
#: A pause of so many usual intervals is no line.
_PAUSE: Final = 5.0


@dataclass(frozen=True, kw_only=True)
class Strip:
    """One reading against time.

    Attributes:
        path: In units of `WIDTH` and `HEIGHT`.
        marks: Height of each marked value, as a share of the strip from its top, and its words.
    """

    name: str
    unit: str
    path: str
    marks: tuple[tuple[float, str], ...]


@dataclass(frozen=True, kw_only=True)
class Strips:
    """Readings against time between two moments.

    Attributes:
        start_s, stop_s: What is shown.
        last_s: Of the log.
        times: Place of each marked moment, as a percentage of the width, and its words.
    """

    start_s: float
    stop_s: float
    last_s: float
    strips: tuple[Strip, ...]
    times: tuple[tuple[float, str], ...]


def flight_strips(
    history: FlightHistory,
    airspeed_name: str = "airspeed",
    start_s: float | None = None,
    stop_s: float | None = None,
) -> Strips:
    """Return the strips of a flight.

    Args:
        airspeed_name: What the airspeed is.
        start_s, stop_s: What to show; all if left out, and never less than 10 s.
    """
    first, last = float(history.time_s[0]), float(history.time_s[-1])
    start = min(max(start_s if start_s is not None else first, first), max(first, last - 10.0))
    stop = max(min(stop_s if stop_s is not None else last, last), start + 10.0)
    shown = (
        (airspeed_name, "kt", history.airspeed_kt, False),
        ("pressure altitude", "ft", history.altitude_ft, False),
        ("track", "°", history.track_deg, True),
        ("ground speed", "kt", history.ground_speed_kt, False),
    )
    return Strips(
        start_s=start,
        stop_s=stop,
        last_s=last,
        strips=tuple(
            _strip(name, unit, history.time_s, values=values, around=around, span=(start, stop))
            for name, unit, values, around in shown
        ),
        times=tuple(_times(start, stop)),
    )


def _strip(
    name: str, unit: str, time_s: Floats, *, values: Floats, around: bool, span: tuple[float, float]
) -> Strip:
    start, stop = span
    seen = np.isfinite(values) & (time_s >= start) & (time_s <= stop)
    time, value = time_s[seen], values[seen]
    if not value.size:
        return Strip(name=name, unit=unit, path="", marks=())
    low, high = (0.0, 360.0) if around else (float(value.min()), float(value.max()))
    spare = 0.08 * max(high - low, 1.0)
    low, high = low - spare, high + spare
    part = _parts(time, value, around=around)
    kept = _extremes(time, value, start, stop)
    x = (time[kept] - start) / (stop - start) * WIDTH
    y = (high - value[kept]) / (high - low) * HEIGHT
    values_marked = [0.0, 180.0, 360.0] if around else ticks(low, high, _MOST_TICKS)
    return Strip(
        name=name,
        unit=unit,
        path=_path(x, y, part[kept]),
        marks=tuple(((high - one) / (high - low), f"{one:g}") for one in values_marked),
    )


def _parts(time: Floats, value: Floats, *, around: bool) -> Floats:
    """Number the pieces between pauses, and between the ends of the compass."""
    step = np.diff(time)
    usual = float(np.median(step)) if step.size else 1.0
    broken = step > _PAUSE * max(usual, 0.2)
    if around:
        broken |= np.abs(np.diff(value)) > 180.0
    return np.concatenate([[0.0], np.cumsum(broken)])


def _extremes(
    time: Floats, value: Floats, start: float, stop: float
) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Return the places of the lowest and highest sample of each column, in order of time."""
    if value.size <= 2 * _COLUMNS:
        return np.arange(value.size)
    column = np.minimum((time - start) / (stop - start) * _COLUMNS, _COLUMNS - 1).astype(int)
    order = np.lexsort((value, column))
    edge = np.flatnonzero(np.diff(column[order]))
    first = np.concatenate([[0], edge + 1])
    last = np.concatenate([edge, [value.size - 1]])
    found: np.ndarray[tuple[int], np.dtype[np.intp]] = np.unique(order[np.r_[first, last]])
    return found


def _path(x: Floats, y: Floats, part: Floats) -> str:
    begins = np.concatenate([[True], np.diff(part) > 0.0])
    return "".join(
        f"{'M' if new else 'L'}{a:.1f} {b:.1f}" for a, b, new in zip(x, y, begins, strict=True)
    )


def _times(start: float, stop: float) -> list[tuple[float, str]]:
    rough = (stop - start) / _MOST_TIMES
    step = next((one for one in _TIME_STEPS if one >= rough), _TIME_STEPS[-1])
    first = int(np.ceil(start / step))
    return [
        ((moment - start) / (stop - start) * 100.0, clock(moment))
        for moment in range(first * step, int(stop) + 1, step)
    ]


def clock(seconds: float) -> str:
    """Return a time from the first sample as minutes and seconds, or with hours before them."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"
