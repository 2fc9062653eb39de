"""The figure of a group's curve on a page of the site, wide and narrow, with its read-out."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from fleetcal.publish.figure_layers import ALLOWED_WORDS, bound_label
from fleetcal.publish.markup import escaped
from fleetcal.publish.plain_text import one_line, signed
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable, TableRow
from fleetcal.publish.site.chart import Chart, Place
from fleetcal.publish.table_limit import lowest_bound
from fleetcal.wording import counted, decimal

_EDGES: Final = ("mean_low_kt", "mean_high_kt", "next_low_kt", "next_high_kt")


@dataclass(frozen=True, kw_only=True)
class CurveFigure:
    """What the figure shows.

    Attributes:
        table: Its curve and bands.
        marked: Airframes whose points are drawn full and named.
        handbook (sequence of (ias_kt, correction_kt)): What a handbook's table says, drawn as a
            line; the figure then has no read-out.
    """

    table: PooledTable
    points: Sequence[PlottedPoint]
    marked: frozenset[str]
    caption: str
    handbook: Sequence[Place] = ()


def curve_figure(name: str, shown: CurveFigure) -> str:
    """Return the figure with its read-out.

    Args:
        name: Unique on the page.

    Returns:
        HTML; the read-out's numbers are those of the table, at every knot.
    """
    rows = [row for row in shown.table.curve if row.correction_kt is not None]
    wide = _drawn(f"{name}-wide", shown, rows, _frame(shown, rows, wide=True))
    narrow = _drawn(f"{name}-narrow", shown, rows, _frame(shown, rows, wide=False))
    weight = f"{shown.table.weight_kg:.0f} kg"
    told = escaped(_read_out(rows, shown.table))
    data = f' data-unit="kt" data-weight="{weight}" data-curve="{told}"'
    key = _HANDBOOK_KEY if shown.handbook else ""
    return (
        f'<figure class="two-widths"{"" if shown.handbook else data}>\n'
        f'<div class="wide">{wide}</div>\n<div class="narrow">{narrow}{_KEY}{key}</div>\n'
        f"<figcaption>{escaped(shown.caption)}</figcaption>\n</figure>"
    )


_KEY: Final = (
    '<ul class="key"><li><span class="swatch mean"></span>mean of the group</li>'
    '<li><span class="swatch mean-band"></span>95\u00a0% band of the group\'s mean</li>'
    '<li><span class="swatch next-band"></span>95\u00a0% band for the next aircraft</li></ul>'
)

_HANDBOOK_KEY: Final = (
    '<ul class="key"><li><span class="swatch of-handbook"></span>the handbook</li></ul>'
)


def _read_out(rows: Sequence[TableRow], table: PooledTable) -> str:
    bound = lowest_bound(table.limits)
    told = [
        [decimal(row.ias_kt, 0), signed(row.correction_kt or 0.0)]
        + [signed(getattr(row, edge)) for edge in _EDGES]
        + [f"Above {bound.name}." if bound and row.ias_kt > bound.usable_kt else ""]
        for row in rows
    ]
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def _frame(shown: CurveFigure, rows: Sequence[TableRow], *, wide: bool) -> Chart:
    speeds = [row.ias_kt for row in rows] + [point.ias_kt for point in shown.points]
    values = [-1.0, 1.0, *(getattr(row, edge) for row in rows for edge in _EDGES)]
    for point in shown.points:
        values += [
            point.correction_kt - point.u_correction_kt,
            point.correction_kt + point.u_correction_kt,
        ]
    speeds += [ias for ias, _ in shown.handbook]
    values += [correction for _, correction in shown.handbook]
    if shown.table.allowed:
        side = 1.0 if max(values) >= -min(values) else -1.0
        values.append(side * max(error for _, error in shown.table.allowed))
    speeds = speeds or [row.ias_kt for row in shown.table.rows]
    margin = max(1.0, 0.02 * (max(speeds) - min(speeds)))
    spare = 0.06 * (max(values) - min(values))
    across = (min(speeds) - margin, max(speeds) + margin)
    up = (min(values) - spare, max(values) + spare)
    if wide:
        return Chart(
            name="",
            width=720.0,
            height=400.0,
            left=44.0,
            right=176.0,
            top=30.0,
            bottom=46.0,
            across=across,
            up=up,
        )
    return Chart(
        name="",
        width=340.0,
        height=290.0,
        left=38.0,
        right=8.0,
        top=30.0,
        bottom=46.0,
        across=across,
        up=up,
    )


def _drawn(name: str, shown: CurveFigure, rows: Sequence[TableRow], frame: Chart) -> str:
    chart = replace(frame, name=name, parts=[])
    edges = {edge: [(row.ias_kt, getattr(row, edge)) for row in rows] for edge in _EDGES}
    if rows:
        chart.band(edges["next_low_kt"], edges["next_high_kt"], "next-band")
        chart.band(edges["mean_low_kt"], edges["mean_high_kt"], "mean-band")
    chart.axes(
        f"indicated airspeed, kt (IAS at {shown.table.weight_kg:.0f} kg)", "correction to add, kt"
    )
    _draw_allowed(chart, shown.table)
    _draw_bounds(chart, shown.table)
    for edge in ("next_low_kt", "next_high_kt"):
        if rows:
            chart.line(edges[edge], "next-edge")
    for point in sorted(shown.points, key=lambda one: one.airframe in shown.marked):
        kind = "point marked" if point.airframe in shown.marked else "point"
        chart.point(
            (point.ias_kt, point.correction_kt),
            point.u_correction_kt,
            kind,
            _told(point, shown.table),
        )
    if rows:
        chart.line([(row.ias_kt, row.correction_kt or 0.0) for row in rows], "mean-line")
    _name_marked(chart, shown)
    if shown.handbook:
        chart.line(shown.handbook, "handbook")
    if rows and chart.width > 500.0:
        last = rows[-1]
        chart.labels(
            [
                (edges["next_high_kt"][-1][1], "95\u00a0% band, next aircraft", "of-next"),
                (last.correction_kt or 0.0, "mean of the group", "of-mean"),
                (edges["mean_low_kt"][-1][1], "95\u00a0% band of the mean", "of-mean"),
                *(
                    (last_said, "the handbook", "of-handbook")
                    for _, last_said in shown.handbook[-1:]
                ),
            ]
        )
    chart.pointer()
    title = f"Position correction of {shown.table.type_name}, {shown.table.static_source}"
    return chart.svg(one_line(title), _description(shown, rows))


def _draw_allowed(chart: Chart, table: PooledTable) -> None:
    for side in (-1.0, 1.0):
        places: list[Place] = [(speed, side * error) for speed, error in table.allowed]
        if places and chart.up[0] < places[0][1] < chart.up[1]:
            chart.line(places, "allowed")
            y = chart.y(places[0][1]) + (13.0 if side > 0.0 else -5.0)
            chart.words(chart.x(places[0][0]) + 2.0, y, ALLOWED_WORDS, "quiet")


def _draw_bounds(chart: Chart, table: PooledTable) -> None:
    """Draw the limits above which nothing is for flying, where they lie among the speeds shown."""
    for limit in table.limits:
        if limit.bound and chart.across[0] < limit.usable_kt < chart.across[1]:
            chart.line([(limit.usable_kt, end) for end in chart.up], "bound")
            x, left = chart.x(limit.usable_kt), limit.usable_kt < sum(chart.across) / 2.0
            place = (x + 4.0, "start") if left else (x - 4.0, "end")
            chart.words(place[0], chart.top + 12.0, bound_label(limit), "bound-name", place[1])


def _told(point: PlottedPoint, table: PooledTable) -> str:
    read = ""
    if point.read_kt is not None and point.read_at_kg is not None:
        read = f", read as {point.read_kt:.0f} kt at {point.read_at_kg:.0f} kg"
    return (
        f"{point.airframe}: {signed(point.correction_kt)} ± {decimal(point.u_correction_kt)} kt at "
        f"{point.ias_kt:.0f} kt IAS at {table.weight_kg:.0f} kg{read}"
    )


def _name_marked(chart: Chart, shown: CurveFigure) -> None:
    """Write the tag of each marked airframe beside its slowest point."""
    for tag in sorted(shown.marked):
        own = sorted((p.ias_kt, p.correction_kt) for p in shown.points if p.airframe == tag)
        if own:
            x, y = chart.x(own[0][0]), chart.y(own[0][1])
            chart.words(x + 6.0, y - 6.0, tag[:20], "tag")


def _description(shown: CurveFigure, rows: Sequence[TableRow]) -> str:
    span = f"from {rows[0].ias_kt:.0f} to {rows[-1].ias_kt:.0f} kt" if rows else "at no airspeed"
    return (
        f"Correction to add to the IAS at {shown.table.weight_kg:.0f} kg {span}: mean of the group "
        f"with its 95 % band, the 95 % band for the next aircraft, and "
        f"{counted(len(shown.points), 'point')}. "
        "The values are in the table."
    )
