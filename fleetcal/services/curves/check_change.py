"""Whether a change of equipment, or anything else on a date, changed the error of one airframe.

The points before and after are two curves of one airframe. What tells them
apart must exceed how much sorties of one airframe in one fit differ among each
other, and that is learnt from all airframes of the type that flew a fit more
than once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.pooled import fit_sums, supported_order
from fleetcal.fleet.sums import aircraft_sums
from fleetcal.services.curves.compare_curves import (
    LEVEL,
    Comparison,
    difference_rows,
    side_of,
    speeds_of_both,
    verdict_words,
)
from fleetcal.services.curves.groups import find_type
from fleetcal.services.curves.point_arrays import point_arrays
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    PointFilter,
    PointRow,
    Store,
    TypeDescription,
    find_airframe,
    load_description,
    select_points,
)


@dataclass(frozen=True)
class Period:
    """Days from `start` to `stop`, both included; None for no limit."""

    start: date | None
    stop: date | None

    def holds(self, day: date) -> bool:
        """Tell whether a day lies in the period."""
        after = self.start is None or day >= self.start
        return after and (self.stop is None or day <= self.stop)

    def __str__(self) -> str:
        return f"{self.start or 'the beginning'} to {self.stop or 'today'}"


def check_change(
    store: Store,
    tag: str,
    flap_setting: str = "up",
    periods: tuple[Period, Period] | None = None,
) -> Comparison:
    """Compare one airframe before and after.

    Parameters
    ----------
    store : Store
    tag : str
    flap_setting : str
    periods : tuple of Period, optional
        Before and after, whatever was fitted; the two last fits with points when
        left out.

    Returns
    -------
    Comparison
        After less before.

    Raises
    ------
    UnknownNameError
        If the airframe is not in the store.
    FitError
        If a side has no points, the sides share no speed, or nothing tells how
        much sorties differ among each other.
    """
    with store.reading() as session:
        airframe = find_airframe(session, tag)
        tag, type_name = airframe.tag, airframe.aircraft_type.name
        description = load_description(session)
        kind = find_type(description, type_name)
        wanted = PointFilter(type=type_name, flap_setting=flap_setting, accepted=True)
        rows = [row for row in select_points(session, wanted) if not row.barred]
    history = {a.tag: a for a in description.airframes}
    own = [row for row in rows if row.airframe == tag]
    if periods is None:
        names, sides = _last_change(history[tag], own)
    else:
        names = tuple(str(period) for period in periods)
        sides = tuple([row for row in own if period.holds(row.flown_on)] for period in periods)
    _require_sides(tag, names, sides)
    others = [row for row in rows if row.airframe != tag]
    return _compare(kind, flap_setting, tag, names, sides, _repeated(history, others))


def _last_change(
    airframe: AirframeDescription, rows: Sequence[PointRow]
) -> tuple[tuple[str, ...], tuple[list[PointRow], ...]]:
    """Return names and points of the two last fits that have points."""
    by_fit: dict[date, list[PointRow]] = {}
    for row in rows:
        by_fit.setdefault(_fit_on(airframe, row.flown_on).from_date, []).append(row)
    starts = sorted(by_fit)[-2:]
    if len(starts) < 2:
        raise FitError(
            f"{airframe.tag}: its accepted points were all flown in one fit",
            "fly it after the change, or give two periods with --before and --after",
        )
    fits = [_fit_on(airframe, start) for start in starts]
    return tuple(_fit_words(fit) for fit in fits), tuple(by_fit[start] for start in starts)


def _fit_on(airframe: AirframeDescription, day: date) -> FitDescription:
    return max((f for f in airframe.fits if f.from_date <= day), key=lambda f: f.from_date)


def _fit_words(fit: FitDescription) -> str:
    return f"{fit.static_source} / {fit.engine} / {fit.propeller} from {fit.from_date}"


def _require_sides(tag: str, names: tuple[str, ...], sides: tuple[list[PointRow], ...]) -> None:
    for name, rows in zip(names, sides, strict=True):
        if not rows:
            raise FitError(f"{tag}: no accepted points in {name}", "reduce a flight of that time")


def _repeated(
    history: dict[str, AirframeDescription], rows: Sequence[PointRow]
) -> list[list[PointRow]]:
    """Return the points of each airframe in one fit that flew more than one sortie in it."""
    flown: dict[tuple[str, date], list[PointRow]] = {}
    for row in rows:
        start = _fit_on(history[row.airframe], row.flown_on).from_date
        flown.setdefault((row.airframe, start), []).append(row)
    return [
        found for _, found in sorted(flown.items()) if len({row.sortie_id for row in found}) > 1
    ]


def _compare(
    kind: TypeDescription,
    flap_setting: str,
    tag: str,
    names: tuple[str, ...],
    sides: tuple[list[PointRow], ...],
    helpers: list[list[PointRow]],
) -> Comparison:
    order = min(_order(kind, rows) for rows in sides)
    groups = [*sides, *(rows for rows in helpers if _order(kind, rows) >= order)]
    sorties = sum(len({row.sortie_id for row in rows}) for rows in groups)
    if sorties - len(groups) < 2:
        raise FitError(
            f"{tag}: nothing tells how much sorties of one airframe differ among each other",
            "fly each side twice, or reduce repeated sorties of other airframes",
        )
    units: dict[tuple[int, int], int] = {}
    rows, unit_of, group_of = [], [], []
    for group, members in enumerate(groups):
        for row in members:
            key = (group, row.sortie_id)
            if key not in units:
                units[key] = len(units)
                group_of.append(group)
            rows.append(row)
            unit_of.append(units[key])
    points = point_arrays(kind, rows, unit_of, group_of)
    fit = fit_sums(aircraft_sums(points).with_order(order), len(groups))
    speeds = speeds_of_both(kind, sides[0], sides[1])
    if not len(speeds):
        raise FitError(f"{tag}: the two sides share no speed", "fly one at the other's speeds")
    found = contrast(fit, 0, 1)
    told = difference_rows(kind, fit, found, 0, speeds)
    return Comparison(
        f"{tag}: {names[1]} less {names[0]}",
        kind.name,
        flap_setting,
        kind.reference_weight_kg,
        side_of(names[0], sides[0]),
        side_of(names[1], sides[1]),
        told,
        found.p_value,
        found.p_value < LEVEL,
        verdict_words(told, found.p_value, "the change"),
        f"kappa of order {order} in (Vs/Viw)^2 before and after, sorties random about them with "
        f"one spread learnt from {len(groups)} airframes and fits ({sorties} sorties)",
    )


def _order(kind: TypeDescription, rows: Sequence[PointRow]) -> int:
    """Return the highest order that the speeds of one side carry."""
    return supported_order(point_arrays(kind, rows, np.zeros(len(rows), int).tolist(), [0]))
