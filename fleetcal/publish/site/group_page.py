"""The page of one group: curve with all airframes, table, standing, handbooks, issues."""

from __future__ import annotations

from dataclasses import replace

from fleetcal.publish.markup import escaped
from fleetcal.publish.page_table import table_element
from fleetcal.publish.plain_text import file_stem, one_line
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.site.content import CarriedLine, GroupPage, HandbookBlock, MemberLine
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
from fleetcal.publish.site.overview_page import verdict
from fleetcal.publish.table_words import fact_words, held_for_words

_MEMBERS = (
    Heading("Airframe", plain=True),
    Heading("Sorties", needed=False),
    Heading("Points", needed=False),
    Heading("Standing", plain=True),
    Heading("Largest departure", "kt"),
    Heading("At", "kt IAS at reference weight"),
)
_HANDBOOK = (
    Heading("IAS at its weight", "kt"),
    Heading("Handbook", "kt"),
    Heading("This port", "kt"),
    Heading("Difference", "kt"),
    Heading("95 % band, from", "kt", needed=False),
    Heading("to", "kt", needed=False),
)
_SPEEDS = (
    Heading("Speed", plain=True),
    Heading("Handbook IAS", "kt"),
    Heading("CAS", "kt", needed=False),
    Heading("IAS on this port", "kt"),
    Heading("one aircraft, from", "kt", needed=False),
    Heading("to", "kt", needed=False),
    Heading("Not above", "kt"),
)


def group_page(group: GroupPage) -> Page:
    """Return the page of a group."""
    table = group.table
    outside = frozenset(m.airframe for m in group.members if m.verdict == "outside")
    caption = (
        "Above the zero line the indicator shows too little, below it too much. Each point is one "
        "measurement with its standard uncertainty; a name marks an airframe that stands outside "
        "the group and is left out of its curve."
    )
    shown = CurveFigure(
        table=table, points=(*table.points, *group.outside_points), marked=outside, caption=caption
    )
    facts = "".join(
        f"<dt>{escaped(name)}</dt>\n<dd>{escaped(words)}</dd>\n"
        for name, words in fact_words(table)
    )
    return Page(
        path=group.path,
        title=f"{table.type_name}, {group.name}",
        subject="Position correction of airspeed and altimeter, pooled over a group of aircraft",
        lead=paragraph(held_for_words(table), "held-for"),
        trail=(("The fleet", "../index.html"),),
        parts=(
            section("doubts", "What speaks against it", listed(table.doubts)),
            section("curve", "All airframes and the curve", curve_figure("curve-figure", shown)),
            table_element(table),
            section("standing", "Who stands where", _members(group.members)),
            *(
                _handbook(number, book, group.table)
                for number, book in enumerate(group.handbooks, 1)
            ),
            section("left-out", "What was left out", listed(table.left_out)),
            section("issues", "Issues of this table", listed(group.issues)),
            section("background", "What stands behind it", f"<dl>\n{facts}</dl>"),
        ),
    )


def _members(members: tuple[MemberLine, ...]) -> str:
    reasons = [f"{m.airframe}: {m.reason}." for m in members if m.verdict != "inside"]
    return (
        data_table(
            "standing-table",
            "Each airframe against the others of the group; departure of its correction, where "
            "it is largest.",
            _MEMBERS,
            [_member(member) for member in members],
            sortable=True,
        )
        + "\n"
        + listed(reasons)
    )


def _member(member: MemberLine) -> tuple[Cell, ...]:
    return (
        link(member.airframe, f"../airframes/{file_stem(member.airframe)}.html"),
        number(member.sorties, 0),
        number(member.points, 0),
        verdict(member.verdict),
        number(member.largest_departure_kt, sign=True),
        number(member.at_ias_kt, 0),
    )


def _drawn(place: int, book: HandbookBlock, table: PooledTable) -> str:
    said = [(row[0], row[1]) for row in book.rows]
    line = [(ias, value) for ias, value in said if ias is not None and value is not None]
    if not line:
        return ""
    caption = "The broken line is what the handbook's table says; the rest is this port."
    shown = CurveFigure(
        table=replace(table, allowed=()),
        points=(),
        marked=frozenset(),
        caption=caption,
        handbook=line,
    )
    return curve_figure(f"handbook-{place}-figure", shown)


def _not_above(one: CarriedLine) -> Cell:
    return number(one.not_above_kt) if one.limit else Cell("")


def _handbook(place: int, book: HandbookBlock, table: PooledTable) -> str:
    rows = [
        (
            number(ias, 0),
            number(handbook, sign=True),
            number(curve, sign=True),
            number(difference, sign=True),
            number(low, sign=True),
            number(high, sign=True),
        )
        for ias, handbook, curve, difference, low, high in book.rows
    ]
    speeds = [
        (
            text(f"{one.speed} (a limit)" if one.limit else one.speed),
            number(one.handbook_ias_kt),
            number(one.cas_kt),
            number(one.ias_kt),
            number(one.next_low_kt),
            number(one.next_high_kt),
            _not_above(one),
        )
        for one in book.speeds
    ]
    notes = [f"{one.speed}: {one.note}." for one in book.speeds if one.note]
    return section(
        f"handbook-{place}",
        one_line(f"Handbook: {book.title}"),
        paragraph(f"{book.verdict[:1].upper()}{book.verdict[1:]}."),
        _drawn(place, book, table),
        data_table(
            f"handbook-{place}-table",
            "Corrections CAS − IAS by the handbook's table and by this port; the difference is "
            "the handbook's minus this port's.",
            _HANDBOOK,
            rows,
        ),
        data_table(
            f"handbook-{place}-speeds",
            "Handbook speeds carried across: the IAS that this port shows at the handbook's CAS. A "
            "limit holds at the low end for one aircraft, or where another source has it lower.",
            _SPEEDS,
            speeds,
        ),
        listed(notes),
        paragraph(book.speeds_note),
        paragraph(book.limit_caution),
    )
