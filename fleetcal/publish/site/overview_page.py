"""The first page: what the fleet has, who flew what, which groups have enough."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.publish.markup import escaped
from fleetcal.publish.plain_text import signed
from fleetcal.publish.site.content import (
    SET_ASIDE,
    AirframePage,
    FleetSite,
    GroupLine,
    GroupStanding,
)
from fleetcal.publish.site.elements import (
    Cell,
    Heading,
    data_table,
    link,
    listed,
    number,
    paragraph,
    section,
    text,
)
from fleetcal.publish.site.frame import Page

_GROUPS = (
    Heading("Group", plain=True),
    Heading("Flaps", plain=True, needed=False),
    Heading("Air­frames"),
    Heading("Sorties", needed=False),
    Heading("Points"),
    Heading("From", "kt IAS as read", needed=False),
    Heading("To", "kt IAS as read", needed=False),
    Heading("Outside"),
    Heading("Set aside"),
    Heading("Enough", plain=True, needed=False),
)
_AIRFRAMES = (
    Heading("Airframe", plain=True),
    Heading("Static source", plain=True),
    Heading("Engine", plain=True, needed=False),
    Heading("Propeller", plain=True, needed=False),
    Heading("Sorties", needed=False),
    Heading("Points"),
    Heading("Last flown", plain=True, needed=False),
    Heading("Standing", plain=True),
)


def overview_page(site: FleetSite) -> Page:
    """Return the overview of the fleet."""
    several = len(site.types) > 1
    return Page(
        path="index.html",
        title=f"{', '.join(site.types)}: the fleet",
        subject="Position error of airspeed and altimeter across a fleet",
        lead=_facts(site),
        trail=(),
        parts=(
            section("attention", "What needs attention", _attention(site)),
            section(
                "groups",
                "Groups",
                data_table(
                    "groups-table",
                    "A group is a static source with an engine and a propeller. A group with "
                    "three airframes has a page with its curve.",
                    _GROUPS,
                    [_group(line, several) for line in site.group_lines],
                    sortable=True,
                ),
            ),
            section(
                "airframes",
                "Airframes",
                data_table(
                    "airframes-table",
                    "What each carries now, what it flew, and where it stands.",
                    _AIRFRAMES,
                    [_airframe(airframe) for airframe in _first_the_odd(site.airframes)],
                    sortable=True,
                ),
            ),
            section("notes", "What was left out", listed(site.notes)),
        ),
    )


def _facts(site: FleetSite) -> str:
    points = [point for airframe in site.airframes for point in airframe.points]
    out = sum(1 for point in points if point.out)
    counts = (
        (len(site.airframes), "airframe", "airframes"),
        (len(site.sorties), "sortie", "sorties"),
        (len(points) - out, "point in use", "points in use"),
        *([(out, "point left out", "points left out")] if out else []),
        (len(site.groups), "group with a curve", "groups with a curve"),
    )
    items = "".join(
        f"<li><strong>{count}</strong> {one if count == 1 else many}</li>"
        for count, one, many in counts
    )
    return f'<ul class="facts">{items}</ul>'


def _first_the_odd(airframes: Sequence[AirframePage]) -> list[AirframePage]:
    """Return airframes with those set aside first, then those outside."""
    return sorted(airframes, key=lambda one: (one.verdict != SET_ASIDE, one.verdict != "outside"))


def _attention(site: FleetSite) -> str:
    """Return who is set aside or stands outside, with the reason and how far it departs."""
    items = [
        f'<li><a href="{escaped(one.path)}">{escaped(one.tag)}</a> '
        f"{escaped(_why_odd(standing))}</li>"
        for one in _first_the_odd(site.airframes)
        for standing in one.standings
        if standing.verdict in (SET_ASIDE, "outside")
    ]
    if not items:
        return paragraph("No airframe stands outside its group or is set aside.")
    return "<ul>\n" + "\n".join(items) + "\n</ul>"


def _why_odd(standing: GroupStanding) -> str:
    far = ""
    if standing.largest_departure_kt is not None and standing.at_ias_kt is not None:
        far = f" by {signed(standing.largest_departure_kt)} kt at {standing.at_ias_kt:.0f} kt"
    if standing.verdict == SET_ASIDE:
        would = f"; if its points counted it would depart{far}" if far else ""
        return f"is set aside in {standing.group}: {standing.why_aside}{would}."
    return f"stands outside {standing.group}{far}, and is left out of its curve."


def _group(line: GroupLine, several: bool) -> tuple[Cell, ...]:
    name = f"{line.type}: {line.group}" if several else line.group
    return (
        link(name, line.page),
        text(line.flap_setting),
        number(line.airframes, 0),
        number(line.sorties, 0),
        number(line.points, 0),
        number(line.slowest_kt, 0),
        number(line.fastest_kt, 0),
        number(line.outside, 0),
        number(line.set_aside, 0),
        text("yes" if line.page else "no"),
    )


def _airframe(airframe: AirframePage) -> tuple[Cell, ...]:
    fit = airframe.fits[-1] if airframe.fits else None
    flown = sorted(point.flown for point in airframe.points)
    return (
        link(airframe.tag, airframe.path),
        text(fit.static_source if fit else ""),
        text(fit.engine if fit else ""),
        text(fit.propeller if fit else ""),
        number(len({point.sortie for point in airframe.points}), 0),
        number(len(airframe.points), 0),
        text(flown[-1] if flown else ""),
        verdict(airframe.verdict),
    )


def verdict(words: str) -> Cell:
    """Return a verdict as a cell; outside and set aside stand out."""
    cell = text(words)
    if words not in ("outside", SET_ASIDE):
        return cell
    return Cell(f'<span class="verdict-outside">{cell.html}</span>', cell.order)
