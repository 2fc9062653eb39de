"""The curves of all groups of a type in one drawing, wide and narrow.

A line is told by its number, its colour and its dash; the three go through combinations of
which twelve differ, and the number at its end says the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from fleetcal.plain_text import one_line, signed
from fleetcal.publish.site.chart import Chart, Place
from fleetcal.publish.site.content import GroupPage
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.table_limit import lowest_bound
from fleetcal.publish.templating import render

_COLOURS: Final = 3
_DASHES: Final = 4
_LETTERS: Final = 32
_ROOM: Final = 34.0


@dataclass(frozen=True, kw_only=True)
class DrawnGroup:
    """The curve of one group, to the lowest limit of its port; `look` is its colour and dash."""

    number: int
    words: str
    more: str
    path: str
    look: str
    places: tuple[Place, ...]


def groups_figures(groups: Sequence[GroupPage], frame: PageFrame) -> list[str]:
    """Return a figure for each type, as HTML; none without a curve."""
    types = list(dict.fromkeys(group.table.type_name for group in groups))
    return [
        figure
        for place, kind in enumerate(types, 1)
        for figure in _figure(f"groups-figure-{place}", groups, kind, frame)
    ]


def line_look(number: int) -> str:
    """Return the classes that draw the line of a number, from 1."""
    return f"colour-{(number - 1) % _COLOURS} dash-{(number - 1) % _DASHES}"


def _figure(name: str, groups: Sequence[GroupPage], kind: str, frame: PageFrame) -> list[str]:
    own = [(n, group) for n, group in enumerate(groups, 1) if group.table.type_name == kind]
    lines = [line for n, group in own for line in _line(n, group, [g for _, g in own])]
    if not lines:
        return []
    weight = f"{own[0][1].table.weight_kg:.0f} kg"
    drawings = []
    for width in ("wide", "narrow"):
        chart = _chart(f"{name}-{width}", lines, wide=width == "wide")
        ends = [(line.places[-1][1], str(line.number), line.look) for line in lines]
        apart = min(_ROOM, (chart.floor - chart.top) / len(lines)) if chart.wide else 14.0
        labels = {label.words: label for label in chart.placed(ends, apart)}
        drawings.append({"width": width, "chart": chart, "labels": labels})
    title = f"Corrections of all groups of {kind}"
    words = "; ".join(_ends_in_words(line) for line in lines)
    figure = render(
        "groups_figure.html",
        frame=frame,
        title=title,
        description=f"Correction to add to the IAS at {weight}, the group's mean. {words}.",
        drawings=drawings,
        lines=lines,
        weight=weight,
        several=len({group.table.type_name for group in groups}) > 1,
        kind=kind,
    )
    return [figure]


def _ends_in_words(line: DrawnGroup) -> str:
    (slow, first), (fast, last) = line.places[0], line.places[-1]
    return (
        f"{line.number} {line.words}, {line.more}: {signed(first)} kt at {slow:.0f} kt to "
        f"{signed(last)} kt at {fast:.0f} kt"
    )


def _line(number: int, group: GroupPage, others: Sequence[GroupPage]) -> list[DrawnGroup]:
    bound = lowest_bound(group.table.limits)
    places = tuple(
        (row.given_kt, row.correction_kt)
        for row in group.table.curve
        if row.correction_kt is not None and (bound is None or row.given_kt <= bound.usable_kt)
    )
    if len(places) < 2:
        return []
    return [
        DrawnGroup(
            number=number,
            words=_short(group.table.static_source),
            more=_short(_pairing(group, others)),
            path=group.path,
            look=line_look(number),
            places=places,
        )
    ]


def _pairing(group: GroupPage, others: Sequence[GroupPage]) -> str:
    """Return what tells a group from others on the same static source, in few words."""
    table = group.table
    flaps = "" if table.flap_setting == "up" else f"flaps {table.flap_setting}, "
    same = [
        one.table
        for one in others
        if one is not group
        and (one.table.static_source, one.table.flap_setting)
        == (table.static_source, table.flap_setting)
    ]
    if all(one.engine != table.engine for one in same):
        return f"{flaps}{table.engine or 'any engine'}"
    if all(one.propeller != table.propeller for one in same):
        return f"{flaps}{table.propeller or 'any propeller'}"
    return f"{flaps}{table.engine or 'any engine'}, {table.propeller or 'any propeller'}"


def _short(words: str) -> str:
    plain = one_line(words)
    return plain if len(plain) <= _LETTERS else f"{plain[: _LETTERS - 1]}\u2026"


def _chart(name: str, lines: Sequence[DrawnGroup], *, wide: bool) -> Chart:
    speeds = [speed for line in lines for speed, _ in line.places]
    values = [-1.0, 1.0, *(value for line in lines for _, value in line.places)]
    spare = 0.06 * (max(values) - min(values))
    extent: dict[str, Any] = {
        "across": (min(speeds) - 1.0, max(speeds) + 1.0),
        "up": (min(values) - spare, max(values) + spare),
    }
    if wide:
        height = max(330.0, 76.0 + 20.0 * len(lines))
        return Chart(
            name=name,
            width=720.0,
            height=height,
            left=44.0,
            right=240.0,
            top=30.0,
            bottom=46.0,
            **extent,
        )
    return Chart(
        name=name,
        width=340.0,
        height=270.0,
        left=38.0,
        right=30.0,
        top=30.0,
        bottom=46.0,
        **extent,
    )
