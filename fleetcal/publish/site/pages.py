"""The pages of the site: of the fleet and of a group.

The same functions make the pages of a folder and those that are served to work in; the
frame tells them apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from fleetcal.publish.page import table_values
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.site.attention import airframes_off, in_use, points_doubtful
from fleetcal.publish.site.content import (
    SET_ASIDE,
    GroupPage,
    HandbookBlock,
    Overview,
)
from fleetcal.publish.site.content_airframe import AirframeSummary
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
from fleetcal.publish.site.departures import departures_of
from fleetcal.publish.site.downloads import fleet_downloads, group_downloads
from fleetcal.publish.site.flown_speeds import flown_speeds
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.group_answers import group_answers
from fleetcal.publish.site.groups_figure import groups_figures
from fleetcal.publish.table_words import title_words
from fleetcal.publish.templating import render

#: Verdicts that stand out.
_ALARMS: Final = ("outside", SET_ASIDE)
#: More lines than these of what needs attention are folded away.
_MOST_LINES: Final = 10


def overview_page(fleet: Overview, frame: PageFrame) -> str:
    """Return the page of the fleet: what it has, who flew what, which groups have enough."""
    several = len(fleet.types) > 1
    return render(
        "overview.html",
        frame=frame,
        title=f"{', '.join(fleet.types)}: the fleet",
        head_title="Position errors",
        counts=in_use(fleet),
        off=airframes_off(fleet.airframes),
        doubtful=points_doubtful(fleet.airframes),
        figures=groups_figures(fleet.groups, frame),
        most_lines=_MOST_LINES,
        departures=departures_of(fleet.airframes),
        groups=[
            {
                **vars(line),
                "name": f"{line.type}: {line.group}" if several else line.group,
            }
            for line in fleet.group_lines
        ],
        airframes=[_airframe_line(one) for one in _first_the_odd(fleet.airframes)],
        alarms=_ALARMS,
        notes=fleet.notes,
        climb_pages=fleet.climb_pages,
        downloads=fleet_downloads(fleet),
    )


def _first_the_odd(airframes: Sequence[AirframeSummary]) -> list[AirframeSummary]:
    """Return airframes with those set aside first, then those outside."""
    return sorted(airframes, key=lambda one: (one.verdict != SET_ASIDE, one.verdict != "outside"))


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
        title=title_words(table),
        head_title=f"{group.name.replace(' / ', ', ')}: position correction",
        group=group,
        off=[member for member in group.members if member.verdict in _ALARMS],
        answers=group_answers(table),
        table=table_values(table),
        flown=flown_speeds(table),
        unit=table.form.speed_unit,
        downloads=group_downloads(group),
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
