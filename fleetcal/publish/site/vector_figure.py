"""The ground vectors of one run: their tips lie on a circle about the tip of the wind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from fleetcal.plain_text import signed
from fleetcal.publish.label_bearings import label_bearings
from fleetcal.publish.site.chart import Place, ticks
from fleetcal.publish.site.content_sortie import RunPicture
from fleetcal.wording import decimal

_WIDE: Final = 320.0
_HIGH: Final = 232.0
#: Of the circle's radius, above and below it; there stand residuals and names of legs.
_ROOM: Final = 1.38
_LABEL_GAP: Final = 7.0
_LONGEST_BAR: Final = 12.0
_LONGEST_SCALE: Final = 70.0
#: How many times as long as the scale says residuals may be drawn; more would show rounding.
_TIMES: Final = (100, 50, 20, 10, 5, 2)


@dataclass(frozen=True)
class _Drawn:
    """The scale of a drawing; the tip of the wind lies in its middle, north is up."""

    run: RunPicture
    per_kt: float

    def at(self, east_kt: float, north_kt: float) -> Place:
        """Return where a ground vector ends."""
        return (
            _WIDE / 2.0 + self.per_kt * (east_kt - self.run.wind_east_kt),
            _HIGH / 2.0 - self.per_kt * (north_kt - self.run.wind_north_kt),
        )

    def bearing(self, tip: Place) -> float:
        """Return the bearing of a tip from the middle, rad."""
        return math.atan2(tip[0] - self.run.wind_east_kt, tip[1] - self.run.wind_north_kt)


def vector_figures(runs: Sequence[RunPicture]) -> list[dict[str, Any]]:
    """Return the drawings of runs with residuals of one size, so that they can be compared."""
    drawn = [vector_figure(run) for run in runs]
    least = min((one["times"] for one in drawn if one["times"]), default=0)
    return [vector_figure(run, times=least) for run in runs]


def vector_figure(
    run: RunPicture, cloud: Sequence[Place] = (), times: int | None = None
) -> dict[str, Any]:
    """Return where the parts of the drawing of one run lie; one scale both ways, north up.

    Args:
        cloud: Ground vectors without a leg, in place of those with one, kt.
        times: How many times as long as the scale residuals are drawn; as fits when left out.
    """
    wind_kt = math.hypot(run.wind_east_kt, run.wind_north_kt)
    away = [_away(run, tip) for tip in (*run.tips, *cloud)]
    reach = max([_ROOM * run.tas_kt, *(1.05 * one for one in away), 1.05 * wind_kt])
    drawn = _Drawn(run, _HIGH / 2.0 / reach)
    fits = _times(run, drawn)
    times = min(fits, fits if times is None else times)
    scale_kt = ticks(0.0, _LONGEST_SCALE / drawn.per_kt, 2)[-1]
    return {
        "name": f"run-{run.run}",
        "words": _words(run, len(cloud)),
        "wide": f"{_WIDE:.0f}",
        "high": f"{_HIGH:.0f}",
        "middle": (_WIDE / 2.0, _HIGH / 2.0),
        "radius": drawn.per_kt * run.tas_kt,
        "origin": drawn.at(0.0, 0.0),
        "wind": _arrow(drawn, wind_kt),
        "wind_words": _wind_words(run),
        "scale": (drawn.per_kt * scale_kt, f"{scale_kt:.0f} kt"),
        "times": times,
        "cloud": [drawn.at(*place) for place in cloud],
        "tips": _tips(drawn, times),
    }


def _away(run: RunPicture, tip: Place) -> float:
    return math.hypot(tip[0] - run.wind_east_kt, tip[1] - run.wind_north_kt)


def _times(run: RunPicture, drawn: _Drawn) -> int:
    """Return how many times as long residuals are drawn; 0 without any."""
    found = [abs(one) for one in run.residuals_kt if one is not None]
    if not found:
        return 0
    largest = drawn.per_kt * max(found)
    return next((times for times in _TIMES if times * largest <= _LONGEST_BAR), 1)


def _tips(drawn: _Drawn, times: int) -> list[dict[str, Any]]:
    """Return the tip of each leg with its bar of the residual and its name."""
    run = drawn.run
    bearings = [drawn.bearing(tip) for tip in run.tips]
    residuals = run.residuals_kt or (None,) * len(run.tips)
    radius = drawn.per_kt * run.tas_kt
    found = []
    for leg, tip, bearing, label, residual in zip(
        run.legs, run.tips, bearings, label_bearings(bearings), residuals, strict=True
    ):
        bar = times * drawn.per_kt * (residual or 0.0)
        x, y = math.sin(label), math.cos(label)
        out = radius + max(bar, 0.0) + _LABEL_GAP
        found.append(
            {
                "place": drawn.at(*tip),
                "bar": (_round(radius, bearing), _round(radius + bar, bearing)),
                "words": f"{leg}" if residual is None else f"{leg}: {signed(residual, 2)}",
                "words_at": _round(out, label),
                "anchor": "start" if x > 0.3 else "end" if x < -0.3 else "middle",
                "drop": 0.0 if y > 0.3 else 9.0 if y < -0.3 else 4.0,
            }
        )
    return found


def _round(radius: float, bearing: float) -> Place:
    """Return the place at a distance from the middle."""
    return (
        _WIDE / 2.0 + radius * math.sin(bearing),
        _HIGH / 2.0 - radius * math.cos(bearing),
    )


def _arrow(drawn: _Drawn, wind_kt: float) -> dict[str, Any]:
    """Return the shaft and the head of the wind from the origin, the way it blows."""
    (x0, y0), (x1, y1) = drawn.at(0.0, 0.0), (_WIDE / 2.0, _HIGH / 2.0)
    long = drawn.per_kt * wind_kt
    if long < 1.0:
        return {"shaft": ((x0, y0), (x1, y1)), "head": ()}
    along = ((x1 - x0) / long, (y1 - y0) / long)
    head = min(9.0, 0.8 * long)
    foot = (x1 - head * along[0], y1 - head * along[1])
    half = 0.42 * head
    sides = [
        (foot[0] - side * half * along[1], foot[1] + side * half * along[0]) for side in (1.0, -1.0)
    ]
    return {"shaft": ((x0, y0), foot), "head": ((x1, y1), *sides)}


def _wind_words(run: RunPicture) -> str:
    speed = math.hypot(run.wind_east_kt, run.wind_north_kt)
    coming = math.degrees(math.atan2(-run.wind_east_kt, -run.wind_north_kt)) % 360.0
    return f"wind {decimal(speed)} kt from {round(coming) % 360:03d}°"


def _words(run: RunPicture, samples: int) -> str:
    which, size = f"Run {run.run}", f"{len(run.tips)} legs"
    if samples:
        which, size = f"No. {run.run}", f"{samples} of its samples"
    return (
        f"{which}: {size} at {decimal(run.ias_kt, 0)} kt IAS as read, true "
        f"airspeed {decimal(run.tas_kt)} kt (the circle), {_wind_words(run)} (the arrow)"
    )
