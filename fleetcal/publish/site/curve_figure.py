"""The figure of a group's curve on a page of the site, wide and narrow, with its read-out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from fleetcal.plain_text import signed
from fleetcal.publish.figure_layers import ALLOWED_WORDS, bound_label
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable, in_own_unit
from fleetcal.publish.site.chart import Chart, Place, curve_chart
from fleetcal.publish.site.figure_key import KeyLine, group_key, own_key
from fleetcal.publish.table_limit import lowest_bound
from fleetcal.publish.table_row import TableRow
from fleetcal.publish.table_words import title_words
from fleetcal.publish.templating import render
from fleetcal.wording import counted, decimal

_TAG_LETTERS: Final = 20
_EDGES: Final = ("mean_low", "mean_high", "next_low", "next_high")


@dataclass(frozen=True, kw_only=True)
class Around:
    """What is drawn faintly about an airframe's own curve: the others of its group.

    Attributes:
        points: Of the others.
        edges: Of the band for another aircraft of the group.
    """

    points: Sequence[PlottedPoint] = ()
    edges: Sequence[Sequence[Place]] = ()


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
    around: Around = field(default_factory=Around)


def curve_figure(name: str, shown: CurveFigure) -> str:
    """Return the figure with its read-out.

    Args:
        name: Unique on the page.

    Returns:
        HTML; the read-out's numbers are those of the table, at every knot.
    """
    shown = _in_own_unit(shown)
    table, unit = shown.table, shown.table.form.speed_unit
    rows = [row for row in table.curve if row.correction_kt is not None]
    edges = {edge: [(row.given_kt, _edge(row, edge)) for row in rows] for edge in _EDGES}
    mean = [(row.given_kt, row.correction_kt or 0.0) for row in rows]
    return render(
        "curve.html",
        **edges,
        mean=mean,
        wide=_chart(f"{name}-wide", shown, rows, wide=True),
        narrow=_chart(f"{name}-narrow", shown, rows, wide=False),
        read_out="" if shown.handbook else _read_out(rows, table.form.speed_unit),
        above=lowest_bound(table.limits),
        weight=f"{table.weight_kg:.0f} kg",
        unit=unit,
        title=f"Position correction of {title_words(table)}",
        description=_description(shown, rows),
        caption=shown.caption,
        allowed=[
            [(v, side * e) for v, e in table.allowed] for side in (-1.0, 1.0) if table.allowed
        ],
        allowed_words=ALLOWED_WORDS,
        bounds=[(limit.usable_kt, bound_label(limit)) for limit in table.limits if limit.bound],
        points=[_point(point, table) for point in _marked_last(shown)],
        others=_others(shown.around.points),
        group_edges=shown.around.edges,
        marked=shown.marked,
        tags=_tags(shown),
        handbook=shown.handbook,
        labels=_labels(mean, edges, shown) if rows else [],
        key=_key(shown),
        own=table.airframe,
    )


def _in_own_unit(shown: CurveFigure) -> CurveFigure:
    """Return a figure all of whose speeds are in the unit of its table."""
    if shown.table.form.speed_unit == "kt":
        return shown
    to_unit = shown.table.form.printed

    def scaled(line: Sequence[Place]) -> list[Place]:
        return [(to_unit(speed), to_unit(value)) for speed, value in line]

    return replace(
        shown,
        table=in_own_unit(shown.table),
        points=[point.scaled(to_unit) for point in shown.points],
        handbook=scaled(shown.handbook),
        around=Around(
            points=[point.scaled(to_unit) for point in shown.around.points],
            edges=[scaled(edge) for edge in shown.around.edges],
        ),
    )


def _edge(row: TableRow, edge: str) -> float:
    value: float = getattr(row, f"{edge}_kt")
    return value


def _others(points: Sequence[PlottedPoint]) -> list[tuple[str, list[Place]]]:
    """Return the places of points by airframe."""
    found: dict[str, list[Place]] = {}
    for point in points:
        found.setdefault(point.airframe, []).append((point.ias_kt, point.correction_kt))
    return sorted(found.items())


def _labels(
    mean: Sequence[Place], edges: dict[str, list[Place]], shown: CurveFigure
) -> list[tuple[float, str, str]]:
    own = shown.table.airframe
    if own is not None:
        return [
            (edges["next_high"][-1][1], "95\u00a0% band, this aircraft", "of-mean"),
            (mean[-1][1], own.tag[:_TAG_LETTERS], "of-mean"),
            *((value, "the group's mean", "of-next") for _, value in own.group_mean[-1:]),
        ]
    return [
        (edges["next_high"][-1][1], "another aircraft, 95\u00a0%", "of-next"),
        (mean[-1][1], "the group's mean", "of-mean"),
        (edges["mean_low"][-1][1], "95\u00a0% band of the mean", "of-mean"),
        *((value, "the handbook", "of-handbook") for _, value in shown.handbook[-1:]),
    ]


def _read_out(rows: Sequence[TableRow], unit: str) -> str:
    """Return for each speed: it, the answer, the correction and the ends of both bands."""
    return ";".join(
        " ".join(
            [
                decimal(row.given_kt, 0 if unit == "kt" else 1),
                decimal(row.answer_kt or 0.0),
                signed(row.correction_kt or 0.0),
                *(signed(_edge(row, edge)) for edge in _EDGES),
            ]
        )
        for row in rows
    )


def _chart(name: str, shown: CurveFigure, rows: Sequence[TableRow], *, wide: bool) -> Chart:
    values, speeds = _reach(shown, rows)
    margin = max(1.0, 0.02 * (max(speeds) - min(speeds)))
    spare = 0.06 * (max(values) - min(values))
    return curve_chart(
        name,
        wide=wide,
        names_width=176.0,
        across=(min(speeds) - margin, max(speeds) + margin),
        up=(min(values) - spare, max(values) + spare),
    )


def _reach(shown: CurveFigure, rows: Sequence[TableRow]) -> tuple[list[float], list[float]]:
    """Return corrections and speeds that the axes have to span."""
    speeds = [row.given_kt for row in rows] + [point.ias_kt for point in shown.points]
    values = [-1.0, 1.0, *(_edge(row, edge) for row in rows for edge in _EDGES)]
    for point in shown.points:
        values += [
            point.correction_kt - point.u_correction_kt,
            point.correction_kt + point.u_correction_kt,
        ]
    own = shown.table.airframe
    values += [correction for _, correction in (() if own is None else own.group_mean)]
    values += [point.correction_kt for point in shown.around.points]
    speeds += [ias for ias, _ in shown.handbook]
    values += [correction for _, correction in shown.handbook]
    if shown.table.allowed:
        side = 1.0 if max(values) >= -min(values) else -1.0
        values.append(side * max(error for _, error in shown.table.allowed))
    return values, speeds or [row.given_kt for row in shown.table.rows]


def _key(shown: CurveFigure) -> list[KeyLine]:
    own = shown.table.airframe
    if own is None:
        return group_key(shown.points, handbook=bool(shown.handbook))
    return own_key(
        own.tag,
        shown.points,
        shown.around.points,
        group_mean=bool(own.group_mean),
        group_band=bool(shown.around.edges),
        unit=shown.table.form.speed_unit,
    )


def _marked_last(shown: CurveFigure) -> list[PlottedPoint]:
    return sorted(shown.points, key=lambda one: one.airframe in shown.marked)


def _point(point: PlottedPoint, table: PooledTable) -> dict[str, Any]:
    read, unit = "", table.form.speed_unit
    if point.read_kt is not None and point.read_at_kg is not None:
        read = f", read as {point.read_kt:.0f} {unit} at {point.read_at_kg:.0f} kg"
    words = (
        f"{point.airframe}: {signed(point.correction_kt)} ± {decimal(point.u_correction_kt)} "
        f"{unit} at {point.ias_kt:.0f} {unit} IAS at {table.weight_kg:.0f} kg{read}"
    )
    return {**vars(point), "words": words}


def _tags(shown: CurveFigure) -> list[tuple[str, float, float]]:
    """Return the tag of each marked airframe with the place of its slowest point."""
    found = []
    for tag in sorted(shown.marked):
        own = sorted((p.ias_kt, p.correction_kt) for p in shown.points if p.airframe == tag)
        found += [(tag[:_TAG_LETTERS], *place) for place in own[:1]]
    return found


def _description(shown: CurveFigure, rows: Sequence[TableRow]) -> str:
    unit = shown.table.form.speed_unit
    span = "at no airspeed"
    if rows:
        span = f"from {rows[0].given_kt:.0f} to {rows[-1].given_kt:.0f} {unit}"
    lines = "the group's mean with its 95 % band, the 95 % band for another aircraft of the group"
    own = shown.table.airframe
    if own is not None:
        lines = f"{own.tag} with its 95 % band{', the mean of its group' if own.group_mean else ''}"
    return (
        f"Correction to add to the IAS at {shown.table.weight_kg:.0f} kg {span}: {lines}, and "
        f"{counted(len(shown.points), 'point')}. "
        "The values are in the table."
    )
