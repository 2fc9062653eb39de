"""The figure of a pooled climb or glide."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fleetcal.atomic_write import write_atomically
from fleetcal.fleet.pooled import PooledFit
from fleetcal.publish.climb_figure import BestMark, ClimbPicture, climb_figure
from fleetcal.services.curves.draw_standing import drawn_curve, figure_kind
from fleetcal.services.curves.type_points import TypePoints, curve_of
from fleetcal.services.performance.best_speed import BestSpeed


def measured_rates(
    known: TypePoints, fit: PooledFit, group: int
) -> tuple[tuple[float, float], ...]:
    """Return CAS at reference weight and rate of each measurement of a group."""
    about, rows = curve_of(fit.beta[group]), known.rows_of(group)
    at = np.array(known.speeds_of(rows))
    rates = known.scale.shown(at, np.array([row.y for row in rows]), about)
    return tuple((float(v), float(r)) for v, r in zip(at, rates, strict=True))


def draw_climbs(
    known: TypePoints,
    fit: PooledFit,
    group: int,
    span_kt: tuple[float, float],
    speeds: tuple[BestSpeed, ...],
    words: tuple[str, str],
    file: Path,
) -> None:
    """Draw the rate over CAS with both bands, the measurements and the best speeds.

    Args:
        span_kt: Slowest and fastest CAS that enough airframes flew.
        words: Title, and what the figure is of.
        file: The ending tells the kind.

    Raises:
        DataError: If the ending is unknown, or the file cannot be written.
    """
    kind = figure_kind(file)
    marks = [
        BestMark(
            name=one.speed,
            cas_kt=one.cas_kt,
            low_kt=one.low_kt,
            high_kt=one.high_kt,
            rate_ftmin=one.rate_ftmin,
        )
        for one in speeds
        if one.cas_kt is not None
        and one.low_kt is not None
        and one.high_kt is not None
        and one.rate_ftmin is not None
    ]
    picture = ClimbPicture(
        title=words[0],
        facts=words[1],
        heading=known.quantity.heading,
        curve=drawn_curve(known, fit, group, np.linspace(*span_kt, 120)),
        points=measured_rates(known, fit, group),
        best=tuple(marks),
    )
    write_atomically(file, climb_figure(picture, kind))
