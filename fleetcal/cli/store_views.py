"""How the fleet and the points of a store are listed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.records import Point, columns_of
from fleetcal.wording import counted, listed, there_are

if TYPE_CHECKING:
    from fleetcal.services.fleet.describe_fleet import FleetShown
    from fleetcal.services.points.decide_points import PointList


def _fleet_answer(fleet: FleetShown) -> Iterator[str]:
    airframes = {fit.airframe for fit in fleet.fits}
    if not fleet.types:
        yield "The store knows no fleet yet; 'fleetcal fleet load' enters one."
        return
    yield f"The fleet has {counted(len(airframes), 'airframe')} of type {listed(fleet.types)}."


FLEET: View[FleetShown] = View(
    kind="fleet",
    rows="fits",
    columns=[
        Column("airframe", importance=ALWAYS),
        Column("from_date", heading="from"),
        Column("static_source", wraps=True),
        Column("engine", wraps=True),
        Column("propeller", wraps=True),
        Column("temperature_shows", importance=SPARE),
        Column("recovery_factor", 2, importance=SPARE),
        Column("pitot", importance=SPARE),
    ],
    answer=_fleet_answer,
)

#: Columns of a point that all of a list may share.
_SHARED: Final = ("technique", "flap_setting")
_SPARE: Final = ("kappa", "u_kappa")


def _points_answer(found: PointList) -> Iterator[str]:
    points = found.points
    airframes = sorted({one.airframe for one in points})
    whose = f" of {listed(airframes)}" if airframes else ""
    not_counted = sum(not one.accepted or bool(one.barred) for one in points)
    left = f"; {not_counted} of them {'does' if not_counted == 1 else 'do'} not count"
    if not_counted == len(points) > 0:
        left = ", which do not count" if not_counted > 1 else ", which does not count"
    yield f"{there_are(len(points), 'point')}{whose}{left if not_counted else ''}."


def _point_columns() -> Iterator[Column]:
    yield Column("point_id", importance=ALWAYS, heading="point")
    yield Column("airframe", importance=ALWAYS)
    yield Column("flown_on")
    yield Column("static_source", once=True, wraps=True)
    for one in columns_of(Point).values():
        if one.listed:
            yield Column(
                one.name,
                one.decimals,
                sign=one.sign,
                importance=SPARE if one.name in _SPARE else 2,
                wraps=one.name in ("reason", "technique"),
                once=one.name in _SHARED,
            )
    yield Column("barred", wraps=True)


POINTS: View[PointList] = View(
    kind="points",
    rows="points",
    columns=[*_point_columns()],
    answer=_points_answer,
    foot=lambda found: [
        "Vic: IAS as read, the indicator's own error taken out, at the weight flown; dVpc: the "
        "correction to add; u: one standard uncertainty."
    ],
)
