"""The page of an airframe: its own answer first, where it stands, what its flights gave."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from fleetcal.publish.band_words import cautions_of
from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.page import table_values
from fleetcal.publish.site.content_airframe import AirframePage, GroupStanding, OwnAnswer
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
from fleetcal.publish.site.flights_figure import flights_figure
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.pages_sortie import why_out
from fleetcal.publish.templating import render


def airframe_page(airframe: AirframePage, frame: PageFrame) -> str:
    """Return the page of an airframe: its points and fits, its standing, what changes did."""
    registration = f", {airframe.registration}" if airframe.registration else ""
    return render(
        "airframe.html",
        frame=frame,
        title=f"{airframe.tag}{registration}",
        airframe=airframe,
        own=[_own_answer(place, one) for place, one in enumerate(airframe.own, 1)],
        cautions_here=next(
            (cautions_of(one.table) for one in airframe.own if one.table is not None), CAUTIONS
        ),
        standings=[
            {**vars(one), "figure": _standing_figure(place, one, airframe.tag)}
            for place, one in enumerate(airframe.standings, 1)
        ],
        watches=[
            {**vars(one), "figure": flights_figure(f"watch-{place}-figure", one.picture)}
            for place, one in enumerate(airframe.watches, 1)
        ],
        why_out=why_out(airframe.points),
    )


def _own_answer(place: int, one: OwnAnswer) -> dict[str, Any]:
    """Return an airframe's own table and figure as its page shows them."""
    if one.table is None:
        return {**vars(one), "figure": ""}
    shown = CurveFigure(
        table=replace(one.table, allowed=()),
        points=one.table.points,
        marked=frozenset(),
        caption="Above the zero line the indicator shows too little, below it too much. Each "
        "point is one measurement of this aircraft with its standard uncertainty, the indicator's "
        "own error left out: it is part of what this aircraft reads.",
    )
    figure = curve_figure(f"own-{place}-figure", shown)
    return {**vars(one), "table": table_values(one.table), "figure": figure}


def _standing_figure(place: int, one: GroupStanding, tag: str) -> str:
    shown = CurveFigure(
        table=one.table,
        points=one.points,
        marked=frozenset({tag}),
        caption="The points of this airframe on the curve and bands of its group.",
    )
    return curve_figure(f"standing-{place}-figure", shown)
