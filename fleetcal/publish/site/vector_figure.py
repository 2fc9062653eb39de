"""The ground vectors of one run: their tips lie on a circle about the tip of the wind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from fleetcal.publish.site.chart import Place
from fleetcal.publish.site.content_sortie import RunPicture
from fleetcal.wording import decimal

_SIZE: Final = 240.0
_MARGIN: Final = 22.0


def vector_figure(run: RunPicture, cloud: Sequence[Place] = ()) -> dict[str, Any]:
    """Return where the parts of the drawing of one run lie; one scale both ways, north up.

    Args:
        cloud: Ground vectors without a leg, in place of those with one, kt.
    """
    reach = [abs(value) for tip in (*run.tips, *cloud) for value in tip]
    reach += [abs(run.wind_east_kt) + run.tas_kt, abs(run.wind_north_kt) + run.tas_kt]
    scale = (_SIZE / 2.0 - _MARGIN) / max(reach)
    return {
        "name": f"run-{run.run}",
        "words": _words(run, len(cloud)),
        "size": f"{_SIZE:.0f}",
        "middle": _SIZE / 2.0,
        "wind": _at(scale, run.wind_east_kt, run.wind_north_kt),
        "radius": scale * run.tas_kt,
        "cloud": [_at(scale, *place) for place in cloud],
        "tips": [_tip(_at(scale, *tip), leg) for leg, tip in zip(run.legs, run.tips, strict=True)],
    }


def _at(scale: float, east: float, north: float) -> tuple[float, float]:
    return _SIZE / 2.0 + scale * east, _SIZE / 2.0 - scale * north


def _tip(place: tuple[float, float], leg: int) -> dict[str, float]:
    x, y = place
    east, south = x - _SIZE / 2.0, y - _SIZE / 2.0
    out = 12.0 / max(math.hypot(east, south), 1.0)
    return {
        "leg": leg,
        "x": x,
        "y": y,
        "words_x": x + out * east,
        "words_y": y + out * south + 4.0,
    }


def _words(run: RunPicture, samples: int) -> str:
    speed = math.hypot(run.wind_east_kt, run.wind_north_kt)
    coming = math.degrees(math.atan2(-run.wind_east_kt, -run.wind_north_kt)) % 360.0
    which, size = f"Run {run.run}", f"{len(run.tips)} legs"
    if samples:
        which, size = f"No. {run.run}", f"{samples} of its samples"
    return (
        f"{which}: {size} at {decimal(run.ias_kt, 0)} kt IAS as read, true "
        f"airspeed {decimal(run.tas_kt)} kt (the circle), wind {decimal(speed)} kt from "
        f"{coming:.0f}° (the thick line)"
    )
