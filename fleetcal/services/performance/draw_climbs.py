"""The figure of a pooled climb or glide."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fleetcal.atomic_write import write_atomically
from fleetcal.fleet.pooled import PooledFit
from fleetcal.publish.climb_figure import BestMark, ClimbPicture, climb_figure
from fleetcal.services.curves.draw_standing import curve_in_unit, figure_kind
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.speed_grid import ias_at_weight, lift_at

if TYPE_CHECKING:
    from fleetcal.services.performance.pool_climbs import BestSpeed


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
    cas = np.linspace(*span_kt, 120)
    weight = known.type.reference_weight_kg
    lift = lift_at(known.type, cas, weight)
    mean, after = fit.mean_band(group, lift), fit.next_band(group, lift)
    title, facts = words
    rows = known.rows_of(group)
    at = np.array([ias_at_weight(row, weight) for row in rows])
    rates = known.quantity.convert(at, np.array([row.kappa for row in rows]))
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
        title=title,
        facts=facts,
        heading=known.quantity.heading,
        curve=curve_in_unit(known, cas, mean, after),
        points=tuple((float(v), float(r)) for v, r in zip(at, rates, strict=True)),
        best=tuple(marks),
    )
    write_atomically(file, climb_figure(picture, kind))
