"""The first page: what the fleet has, who flew what, which groups have enough."""

from __future__ import annotations

from fleetcal.publish.site.content import AirframePage, FleetSite, GroupLine
from fleetcal.publish.site.elements import (
    Cell,
    Heading,
    data_table,
    link,
    listed,
    number,
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
    """Return the overview of the fleet.

    Parameters
    ----------
    site : FleetSite

    Returns
    -------
    Page
    """
    several = len(site.types) > 1
    return Page(
        "index.html",
        f"{', '.join(site.types)}: the fleet",
        "Position error of airspeed and altimeter across a fleet",
        _facts(site),
        (),
        (
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
                    [_airframe(airframe) for airframe in site.airframes],
                    sortable=True,
                ),
            ),
            section("notes", "What was left out", listed(site.notes)),
        ),
    )


def _facts(site: FleetSite) -> str:
    points = sum(len(airframe.points) for airframe in site.airframes)
    counts = (
        (len(site.airframes), "airframes"),
        (len(site.sorties), "sorties"),
        (points, "points"),
        (len(site.groups), "groups with a curve"),
    )
    items = "".join(f"<li><strong>{count}</strong> {what}</li>" for count, what in counts)
    return f'<ul class="facts">{items}</ul>'


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
    """Return a verdict as a cell; one of outside stands out."""
    cell = text(words)
    if not words.startswith("outside"):
        return cell
    return Cell(f'<span class="verdict-outside">{cell.html}</span>', cell.order)
