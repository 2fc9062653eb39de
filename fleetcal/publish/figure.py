"""The figure: correction against airspeed with points, curve and both bands.

Matplotlib is imported inside the functions: a program that prints a table must
not wait for it. The drawing is made with the library's own defaults, not the
user's settings, and without dates, so that the same table gives the same bytes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.drawing_file import (
    drawing_bytes,
    drawing_style,
    glyphs_may_be_missing,
    paper_drawing,
)
from fleetcal.publish.figure_labels import (
    CurveLabel,
    group_labels,
    label_above,
    label_airframes,
    label_at_curves,
    write_frame,
)
from fleetcal.publish.figure_layers import (
    CurveArrays,
    curve_arrays,
    draw_allowed,
    draw_bands,
    draw_bounds,
    draw_mean,
    draw_points,
    set_axes,
)
from fleetcal.publish.figure_layout import NARROW, WIDE, FigureLayout, frame_of
from fleetcal.publish.figure_own import (
    POINT_WORDS,
    draw_group_mean,
    draw_own_band,
    own_labels,
    short_tag,
)
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.pooled_table import PooledTable, in_own_unit
from fleetcal.publish.table_words import title_words
from fleetcal.wording import counted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_POINTS_PER_INCH: Final = 72.0


def correction_figure_svg(table: PooledTable, *, narrow: bool = False) -> str:
    """Draw the pooled correction against airspeed.

    Args:
        narrow: Draw for a page about as wide as a telephone.

    Returns:
        A standalone SVG document with title and description. The same table gives the same bytes.
    """
    return correction_figure(table, NARROW if narrow else WIDE).decode("utf-8")


def correction_figure(table: PooledTable, layout: FigureLayout, *, on_paper: bool = False) -> bytes:
    """Draw the figure as an SVG document.

    Args:
        on_paper: Draw on white, and the letters as shapes.
    """
    import matplotlib.style

    table = in_own_unit(table)
    style = drawing_style(f"fleetcal correction figure {layout.name}", layout.text)
    style["legend.fontsize"] = layout.text - 1
    if on_paper:
        style["svg.fonttype"] = "path"
    with matplotlib.style.context(["default", style]), glyphs_may_be_missing():
        figure = draw_correction(table, layout)
        if not on_paper:
            return drawing_bytes(figure, "svg", layout.name, _title(table), _description(table))
        figure.set_facecolor("white")
        for axes in figure.axes:
            axes.set_facecolor("white")
        return paper_drawing(figure)


def draw_correction(table: PooledTable, layout: FigureLayout) -> Figure:
    """Draw the figure with the settings in force.

    Args:
        table: In its own unit (`in_own_unit`).
    """
    from matplotlib.figure import Figure

    frame = frame_of(table, layout)
    figure = Figure(
        figsize=(layout.width / _POINTS_PER_INCH, frame.height / _POINTS_PER_INCH),
        facecolor=LIGHT["paper"],
    )
    axes = figure.add_axes(frame.axes_rectangle(), facecolor=LIGHT["paper"])
    curve = curve_arrays(table.curve or table.rows)
    set_axes(axes, table, curve)
    labels = _draw_layers(axes, table, curve, layout)
    if layout.labels_at_curves:
        label_at_curves(axes, curve, labels, bool(table.points), layout)
    else:
        outer = LIGHT["next-edge"] if table.airframe is None else LIGHT["mean-line"]
        label_above(figure, axes, frame, outer)
    write_frame(figure, frame)
    return figure


def _draw_layers(
    axes: Axes, table: PooledTable, curve: CurveArrays, layout: FigureLayout
) -> list[CurveLabel]:
    """Draw bands, points and curves, and return what they are called at their right-hand ends."""
    own = table.airframe
    if own is None:
        draw_bands(axes, curve)
        draw_allowed(axes, table)
        draw_points(axes, table.points)
        draw_mean(axes, curve)
        draw_bounds(axes, table)
        label_airframes(axes, table.points, curve, layout)
        return group_labels(curve)
    draw_own_band(axes, curve)
    draw_allowed(axes, table)
    draw_points(axes, table.points, POINT_WORDS)
    draw_mean(axes, curve, short_tag(own))
    draw_group_mean(axes, own)
    draw_bounds(axes, table)
    return own_labels(curve, own)


def _title(table: PooledTable) -> str:
    return f"Position correction of {title_words(table)}"


def _description(table: PooledTable) -> str:
    reached = [row for row in table.curve or table.rows if row.correction_kt is not None]
    span = (
        f"from {reached[0].ias_kt:.0f} to {reached[-1].ias_kt:.0f} {table.form.speed_unit} "
        f"IAS at {table.weight_kg:.0f} kg"
        if reached
        else "without any speed that the data reach"
    )
    shown = "the group's mean with its 95 % band, the 95 % band for another aircraft of the group"
    if table.airframe is not None:
        mean = ", the mean of its group" if table.airframe.group_mean else ""
        shown = f"{table.airframe.tag} with its 95 % band{mean}"
    return one_line(
        f"Correction to add to the indicated airspeed, {span}, flaps {table.flap_setting}, "
        f"{table.weight_kg:.0f} kg, {table.pairing}: {shown}, and "
        f"{counted(len(table.points), 'point')} with their "
        f"standard uncertainty. The values are in the table. {SHORT_CAUTION}"
    )
