"""The pages of the site: of the fleet and of a group.

The same functions make the pages of a folder and those that are served to work in; the
frame tells them apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from fleetcal.plain_text import signed
from fleetcal.publish.page import table_values
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.site.content import (
    SET_ASIDE,
    GroupPage,
    HandbookBlock,
    Overview,
)
from fleetcal.publish.site.content_airframe import AirframeSummary, GroupStanding
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.templating import render
from fleetcal.wording import counted

#: Verdicts that stand out.
_ALARMS: Final = ("outside", SET_ASIDE)


def overview_page(fleet: Overview, frame: PageFrame) -> str:
    """Return the page of the fleet: what it has, who flew what, which groups have enough."""
    several = len(fleet.types) > 1
    return render(
        "overview.html",
        frame=frame,
        title=f"{', '.join(fleet.types)}: the fleet",
        counts=_counts(fleet),
        odd=[
            {"path": one.path, "tag": one.tag, "why": _why_odd(standing)}
            for one in _first_the_odd(fleet.airframes)
            for standing in one.standings
            if standing.verdict in _ALARMS
        ],
        groups=[
            {
                **vars(line),
                "name": f"{line.type}: {line.group}" if several else line.group,
                "enough": "yes" if line.page else "no",
            }
            for line in fleet.group_lines
        ],
        airframes=[_airframe_line(one) for one in _first_the_odd(fleet.airframes)],
        alarms=_ALARMS,
        notes=fleet.notes,
    )


def _counts(fleet: Overview) -> list[tuple[str, str]]:
    points = [point for airframe in fleet.airframes for point in airframe.points]
    out = sum(1 for point in points if point.out)
    words = [
        counted(len(fleet.airframes), "airframe"),
        counted(fleet.sorties, "sortie"),
        counted(len(points) - out, "point in use", "points in use"),
        *([counted(out, "point left out", "points left out")] if out else []),
        counted(len(fleet.groups), "group with a curve", "groups with a curve"),
    ]
    return [(count, noun) for count, _, noun in (one.partition(" ") for one in words)]


def _first_the_odd(airframes: Sequence[AirframeSummary]) -> list[AirframeSummary]:
    """Return airframes with those set aside first, then those outside."""
    return sorted(airframes, key=lambda one: (one.verdict != SET_ASIDE, one.verdict != "outside"))


def _why_odd(standing: GroupStanding) -> str:
    far = ""
    if standing.largest_departure_kt is not None and standing.at_ias_kt is not None:
        far = f" by {signed(standing.largest_departure_kt)} kt at {standing.at_ias_kt:.0f} kt"
    if standing.verdict == SET_ASIDE:
        would = f"; if its points counted it would depart{far}" if far else ""
        return f"is set aside in {standing.group}: {standing.why_aside}{would}."
    return f"stands outside {standing.group}{far}, and is left out of its curve."


def _airframe_line(airframe: AirframeSummary) -> dict[str, Any]:
    fit = airframe.fits[-1] if airframe.fits else None
    return {
        "tag": airframe.tag,
        "path": airframe.path,
        "static_source": fit.static_source if fit else "",
        "engine": fit.engine if fit else "",
        "propeller": fit.propeller if fit else "",
        "sorties": len({point.sortie for point in airframe.points}),
        "points": len(airframe.points),
        "last_flown": max((point.flown for point in airframe.points), default=""),
        "verdict": airframe.verdict,
    }


def group_page(group: GroupPage, frame: PageFrame) -> str:
    """Return the page of a group: curve with all airframes, table, standing, handbooks, issues."""
    table = group.table
    shown = CurveFigure(
        table=table,
        points=(*table.points, *group.outside_points),
        marked=frozenset(m.airframe for m in group.members if m.verdict == "outside"),
        caption="Above the zero line the indicator shows too little, below it too much. Each "
        "point is one measurement with its standard uncertainty; a name marks an airframe that "
        "stands outside the group and is left out of its curve.",
    )
    return render(
        "group.html",
        frame=frame,
        title=f"{table.type_name}, {group.name}",
        table=table_values(table),
        figure=curve_figure("curve-figure", shown),
        members=group.members,
        reasons=[f"{m.airframe}: {m.reason}." for m in group.members if m.verdict != "inside"],
        handbooks=[_handbook(place, book, table) for place, book in enumerate(group.handbooks, 1)],
        issues=group.issues,
        alarms=_ALARMS,
    )


def _handbook(place: int, book: HandbookBlock, table: PooledTable) -> dict[str, Any]:
    line = [(row[0], row[1]) for row in book.rows]
    shown = CurveFigure(
        table=replace(table, allowed=()),
        points=(),
        marked=frozenset(),
        caption="The broken line is what the handbook's table says; the rest is this port.",
        handbook=[(ias, value) for ias, value in line if ias is not None and value is not None],
    )
    return {
        **vars(book),
        "figure": curve_figure(f"handbook-{place}-figure", shown) if shown.handbook else "",
        "notes": [f"{one.speed}: {one.note}." for one in book.speeds if one.note],
    }
