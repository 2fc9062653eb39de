"""The page of one airframe: its points, its fits, its standing, what its changes did."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from fleetcal.publish.markup import escaped
from fleetcal.publish.site.content import (
    AirframePage,
    ChangeBlock,
    GroupStanding,
    PointLine,
    sortie_path,
)
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
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
from fleetcal.wording import counted

_FITS = (
    Heading("Since", plain=True),
    Heading("Static source", plain=True),
    Heading("Engine", plain=True),
    Heading("Propeller", plain=True),
    Heading("Pitot", plain=True, needed=False),
)
POINTS = (
    Heading("Flown", plain=True),
    Heading("Technique", plain=True, needed=False),
    Heading("Flaps", plain=True, needed=False),
    Heading("IAS as read", "kt"),
    Heading("Weight", "kg"),
    Heading("Correc­tion", "kt"),
    Heading("u", "kt"),
    Heading("Altimeter", "ft", needed=False),
    Heading("In the pool", plain=True),
)
_DEPARTURES = (
    Heading("IAS at reference weight", "kt"),
    Heading("Departure", "kt"),
    Heading("95 % band, from", "kt"),
    Heading("to", "kt"),
)
_CHANGES = (
    Heading("IAS at reference weight", "kt"),
    Heading("Before", "kt", needed=False),
    Heading("After", "kt", needed=False),
    Heading("Difference", "kt"),
    Heading("95 % band, from", "kt"),
    Heading("to", "kt"),
)


def airframe_page(airframe: AirframePage) -> Page:
    """Return the page of an airframe."""
    registration = f", {airframe.registration}" if airframe.registration else ""
    return Page(
        path=airframe.path,
        title=f"{airframe.tag}{registration}",
        subject=f"One airframe of the {airframe.type} fleet",
        lead=paragraph(airframe.note),
        trail=(("The fleet", "../index.html"),),
        parts=(
            *(_standing(place, one, airframe) for place, one in enumerate(airframe.standings, 1)),
            section(
                "points",
                "Points",
                why_out(airframe.points),
                data_table(
                    "points-table",
                    "Every point of this airframe: the speed that was read, the weight it was read "
                    "at, and the correction with its standard uncertainty u.",
                    POINTS,
                    [point_cells(point, up="../") for point in airframe.points],
                    sortable=True,
                ),
            ),
            section(
                "fits",
                "What it carries",
                data_table(
                    "fits-table",
                    "Equipment, oldest first.",
                    _FITS,
                    [
                        tuple(
                            text(v)
                            for v in (f.since, f.static_source, f.engine, f.propeller, f.pitot)
                        )
                        for f in airframe.fits
                    ],
                ),
            ),
            *(_change(place, one) for place, one in enumerate(airframe.changes, 1)),
        ),
    )


def point_cells(point: PointLine, up: str) -> tuple[Cell, ...]:
    """Return a point as the cells of a row of `POINTS`; without a way up, without a link."""
    flown = link(point.flown, f"{up}{sortie_path(point.sortie)}") if up else text(point.flown)
    return (
        flown,
        text(point.technique),
        text(point.flap_setting),
        number(point.ias_kt, 0),
        number(point.weight_kg, 0),
        number(point.correction_kt, sign=True),
        number(point.u_correction_kt),
        number(point.altitude_correction_ft, 0, sign=True),
        text("no" if point.out else "yes"),
    )


def why_out(points: Sequence[PointLine]) -> str:
    """Return why points are in no pool: each reason once, with how many points it is for."""
    reasons = Counter(point.out for point in points if point.out)
    return listed([f"{counted(n, 'point', 'points')} out: {why}." for why, n in reasons.items()])


def _standing(place: int, one: GroupStanding, airframe: AirframePage) -> str:
    figure = CurveFigure(
        table=one.table,
        points=one.points,
        marked=frozenset({airframe.tag}),
        caption="The points of this airframe on the curve and bands of its group.",
    )
    verdict = one.verdict[:1].upper() + one.verdict[1:]
    return section(
        f"standing-{place}",
        f"In the group {one.group}",
        f'<p><a href="../{escaped(one.group_page)}">The group and its table</a></p>',
        paragraph(f"{verdict}: {one.reason}."),
        curve_figure(f"standing-{place}-figure", figure),
        data_table(
            f"standing-{place}-table",
            "Departure of its correction from the group's, with the band of the measurement.",
            _DEPARTURES,
            [
                (number(ias, 0), *(number(value, sign=True) for value in values))
                for ias, *values in one.rows
            ],
        ),
    )


def _change(place: int, change: ChangeBlock) -> str:
    return section(
        f"change-{place}",
        "Did a change of equipment change it?",
        paragraph(change.question),
        paragraph(f"{change.verdict[:1].upper()}{change.verdict[1:]}."),
        data_table(
            f"change-{place}-table",
            "Corrections before and after, and their difference.",
            _CHANGES,
            [
                (number(ias, 0), *(number(value, sign=True) for value in values))
                for ias, *values in change.rows
            ],
        ),
    )
