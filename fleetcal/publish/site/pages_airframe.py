"""The page of an airframe: its own answer first, where it stands, what its flights gave."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from fleetcal.publish.band_words import cautions_of
from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.page import table_values
from fleetcal.publish.site.content import SET_ASIDE
from fleetcal.publish.site.content_airframe import AirframePage, GroupStanding, OwnAnswer
from fleetcal.publish.site.curve_figure import Around, CurveFigure, curve_figure
from fleetcal.publish.site.downloads_airframe import airframe_downloads
from fleetcal.publish.site.flights_figure import flights_figure
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.own_lines import own_lines
from fleetcal.publish.site.pages_sortie import why_out
from fleetcal.publish.templating import render


def airframe_page(airframe: AirframePage, frame: PageFrame) -> str:
    """Return the page of an airframe: its points and fits, its standing, what changes did."""
    registration = f", {airframe.registration}" if airframe.registration else ""
    drawn = {(one.group_page, one.flap_setting) for one in airframe.own if one.table is not None}
    aside = [one for one in airframe.standings if one.verdict == SET_ASIDE]
    return render(
        "airframe.html",
        frame=frame,
        title=f"{airframe.tag}{registration}",
        airframe=airframe,
        downloads=airframe_downloads(airframe, card=frame.served is not None),
        aside=aside,
        own=[_own_answer(place, one) for place, one in enumerate(airframe.own, 1)],
        cautions_here=next(
            (cautions_of(one.table) for one in airframe.own if one.table is not None), CAUTIONS
        ),
        standings=[
            {
                **vars(one),
                "reason": _not_again(one),
                "figure": "" if _key(one) in drawn else _standing_figure(place, one),
            }
            for place, one in enumerate(airframe.standings, 1)
        ],
        watches=[
            {**vars(one), "figure": flights_figure(f"watch-{place}-figure", one.picture)}
            for place, one in enumerate(airframe.watches, 1)
        ],
        why_out=[] if aside and _all_out(airframe) else why_out(airframe.points),
    )


def _all_out(airframe: AirframePage) -> bool:
    """Tell whether what is said first of an airframe set aside holds for all its points."""
    groups = {one.group for one in airframe.standings if one.verdict == SET_ASIDE}
    return {point.group for point in airframe.points} <= groups


def _not_again(one: GroupStanding) -> str:
    """Return a standing's reason without what its page said first."""
    if one.verdict != SET_ASIDE or not one.reason.startswith(one.why_aside):
        return one.reason
    return one.reason.removeprefix(one.why_aside).lstrip(".; ")


def _key(one: GroupStanding) -> tuple[str, str]:
    return one.group_page, one.table.flap_setting


def _own_answer(place: int, one: OwnAnswer) -> dict[str, Any]:
    """Return an airframe's own table and figure as its page shows them."""
    if one.table is None:
        return {**vars(one), "figure": "", "lines": []}
    low = [(v, value) for v, value, _ in one.group_band]
    high = [(v, value) for v, _, value in one.group_band]
    shown = CurveFigure(
        table=replace(one.table, allowed=()),
        points=one.table.points,
        marked=frozenset(),
        around=Around(points=one.others, edges=(low, high) if low else ()),
        caption="Above the zero line the indicator shows too little, below it too much. The "
        "indicator's own error is left out of this aircraft's bars: it is part of what this "
        "aircraft reads.",
    )
    figure = curve_figure(f"own-{place}-figure", shown)
    return {
        **vars(one),
        "table": table_values(one.table),
        "figure": figure,
        "lines": own_lines(one.table),
    }


def _standing_figure(place: int, one: GroupStanding) -> str:
    shown = CurveFigure(
        table=one.table,
        points=one.points,
        marked=frozenset(point.airframe for point in one.points),
        caption="The points of this airframe on the curve and bands of its group.",
    )
    return curve_figure(f"standing-{place}-figure", shown)
