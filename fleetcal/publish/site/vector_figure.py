"""The ground vectors of one run: their tips lie on a circle about the tip of the wind."""

from __future__ import annotations

import math
from typing import Final

from fleetcal.publish.markup import escaped
from fleetcal.publish.site.content import RunPicture
from fleetcal.wording import decimal

_SIZE: Final = 240.0
_MARGIN: Final = 22.0


def vector_figure(run: RunPicture) -> str:
    """Return the drawing of one run.

    Returns:
        HTML of a figure; one scale both ways, north up.
    """
    reach = [abs(value) for tip in run.tips for value in tip]
    reach += [abs(run.wind_east_kt) + run.tas_kt, abs(run.wind_north_kt) + run.tas_kt]
    scale = (_SIZE / 2.0 - _MARGIN) / max(reach)

    def at(east: float, north: float) -> str:
        return f"{_SIZE / 2.0 + scale * east:.1f} {_SIZE / 2.0 - scale * north:.1f}"

    wind = at(run.wind_east_kt, run.wind_north_kt).split()
    origin = at(0.0, 0.0)
    legs = "".join(f'<path class="ground" d="M{origin}L{at(*tip)}"/>' for tip in run.tips)
    tips = "".join(_tip(at(*tip), leg) for leg, tip in zip(run.legs, run.tips, strict=True))
    x, y = origin.split()
    drawing = (
        f'<circle class="circle" cx="{wind[0]}" cy="{wind[1]}" r="{scale * run.tas_kt:.1f}"/>'
        f'{legs}<path class="wind" d="M{origin}L{wind[0]} {wind[1]}"/>{tips}'
        f'<circle class="origin" cx="{x}" cy="{y}" r="2.5"/>'
        f'<text class="quiet" x="{_SIZE / 2.0:.0f}" y="12" text-anchor="middle">north</text>'
    )
    name = f"run-{run.run}"
    return (
        f'<figure class="vectors">\n<svg viewBox="0 0 {_SIZE:.0f} {_SIZE:.0f}" role="img" '
        f'aria-labelledby="{name}-title"><title id="{name}-title">{escaped(_words(run))}</title>'
        f"{drawing}</svg>\n<figcaption>{escaped(_words(run))}</figcaption>\n</figure>"
    )


def _tip(place: str, number: int) -> str:
    x, y = (float(part) for part in place.split())
    east, south = x - _SIZE / 2.0, y - _SIZE / 2.0
    out = 12.0 / max(math.hypot(east, south), 1.0)
    return (
        f'<circle class="tip" cx="{x:.1f}" cy="{y:.1f}" r="3"/>'
        f'<text x="{x + out * east:.1f}" y="{y + out * south + 4.0:.1f}" text-anchor="middle">'
        f"{number}</text>"
    )


def _words(run: RunPicture) -> str:
    speed = math.hypot(run.wind_east_kt, run.wind_north_kt)
    coming = math.degrees(math.atan2(-run.wind_east_kt, -run.wind_north_kt)) % 360.0
    return (
        f"Run {run.run}: {len(run.tips)} legs at {decimal(run.ias_kt, 0)} kt IAS as read, true "
        f"airspeed {decimal(run.tas_kt)} kt (the circle), wind {decimal(speed)} kt from "
        f"{coming:.0f}° (the thick line)"
    )
