"""Words of the figure: heading, labels beside the curves, tags of airframes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from fleetcal.plain_text import one_line
from fleetcal.publish.figure_layers import CurveArrays
from fleetcal.publish.figure_layout import LINE_HEIGHT, FigureLayout, Frame
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.pooled_table import PlottedPoint

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST_TAGS: Final = 4
_TAG_ROOM: Final = (34.0, 14.0)
#: Words, the height in kt that they stand for, and their colour.
CurveLabel = tuple[str, float, str]


def write_frame(figure: Figure, frame: Frame) -> None:
    """Write what the figure shows above it, and the caution below."""
    layout = frame.layout
    left = 10.0
    figure.text(
        *frame.at(left, 8.0), frame.title, va="top", fontsize=layout.text + 1, fontweight="bold"
    )
    quiet: dict[str, Any] = {"fontsize": layout.small_text, "color": LIGHT["quiet"]}
    figure.text(*frame.at(left, frame.facts_top), frame.facts, va="top", **quiet)
    figure.text(
        *frame.at(left, frame.plot_top - 8.0), f"correction to add, {frame.unit}", va="bottom"
    )
    figure.text(*frame.at(left, frame.height - 8.0), frame.caution, va="bottom", **quiet)


def group_labels(curve: CurveArrays) -> list[CurveLabel]:
    """Return what stands at the right-hand ends of the lines of a group.

    Returns:
        From the top downwards; nothing where the curve has no values.
    """
    reached = np.flatnonzero(np.isfinite(curve.mean))
    if reached.size == 0:
        return []
    end = reached[-1]
    return [
        ("another aircraft of\nthe group, 95 %", float(curve.next_high[end]), LIGHT["next-edge"]),
        ("the group's mean", float(curve.mean[end]), LIGHT["mean-line"]),
        ("95 % band of\nthe group's mean", float(curve.mean_low[end]), LIGHT["mean-line"]),
    ]


def label_at_curves(
    axes: Axes,
    curve: CurveArrays,
    labels: list[CurveLabel],
    has_points: bool,
    layout: FigureLayout,
) -> None:
    """Name the lines at their right-hand ends.

    Args:
        labels: From the top downwards.
        has_points: Whether points are drawn and want a name too.
    """
    if not labels:
        return
    end = np.flatnonzero(np.isfinite(curve.mean))[-1]
    if has_points:
        labels = [*labels]
        labels.append(("○ a point, ± its\nstandard uncertainty", -np.inf, LIGHT["point"]))
    points_per_kt = layout.plot_height / float(np.ptp(axes.get_ylim()))
    floor = axes.get_ylim()[0]
    heights = [(max(value, floor) - floor) * points_per_kt for _, value, _ in labels]
    sizes = [(text.count("\n") + 1) * layout.small_text * LINE_HEIGHT for text, _, _ in labels]
    for (text, value, colour), height in zip(labels, _spread(heights, sizes, layout), strict=True):
        axes.annotate(
            text,
            xy=(float(curve.ias[end]), max(value, floor)),
            xytext=(1.0 + 16.0 / layout.plot_width, height / layout.plot_height),
            textcoords="axes fraction",
            va="center",
            fontsize=layout.small_text,
            color=colour,
            arrowprops=None
            if np.isinf(value)
            else {"arrowstyle": "-", "color": colour, "linewidth": 0.7, "shrinkB": 1},
            annotation_clip=False,
        )


def _spread(heights: list[float], sizes: list[float], layout: FigureLayout) -> list[float]:
    """Move label centres, given from the top downwards, apart until none overlap."""
    ceiling = layout.plot_height
    placed: list[float] = []
    for height, size in zip(heights, sizes, strict=True):
        placed.append(min(height, ceiling - size / 2.0))
        ceiling = placed[-1] - size / 2.0 - 3.0
    floor = 0.0
    for index in reversed(range(len(placed))):
        placed[index] = max(placed[index], floor + sizes[index] / 2.0)
        floor = placed[index] + sizes[index] / 2.0 + 3.0
    return placed


def label_above(figure: Figure, axes: Axes, frame: Frame, outer_colour: str) -> None:
    """Name curve, bands and points in a key above a narrow drawing.

    Args:
        outer_colour: Of the dashed edge of the outer band.
    """
    key = figure.legend(
        *axes.get_legend_handles_labels(),
        loc="upper left",
        bbox_to_anchor=frame.at(6.0, frame.key_top),
        frameon=False,
        borderaxespad=0.0,
        labelspacing=0.25,
    )
    outer = key.get_patches()[0]
    outer.set(edgecolor=outer_colour, linestyle=(0, (3, 2)), linewidth=0.8)


def label_airframes(
    axes: Axes, points: tuple[PlottedPoint, ...], curve: CurveArrays, layout: FigureLayout
) -> None:
    """Write the tags of the airframes whose points lie farthest outside the outer band.

    Args:
        curve: Outside its speeds no point is called outside the band.
    """
    outside = [(point, _beyond_band(point, curve)) for point in points]
    ranked = sorted(
        (item for item in outside if item[1] != 0.0),
        key=lambda item: (-abs(item[1]), item[0].airframe),
    )
    scale_x = layout.plot_width / float(np.ptp(axes.get_xlim()))
    scale_y = layout.plot_height / float(np.ptp(axes.get_ylim()))
    placed: dict[str, tuple[float, float]] = {}
    for point, beyond in ranked:
        place = (point.ias_kt * scale_x, point.correction_kt * scale_y)
        if point.airframe in placed or len(placed) == _MOST_TAGS or _crowded(place, placed):
            continue
        placed[point.airframe] = place
        bar = point.u_correction_kt * scale_y
        axes.annotate(
            one_line(point.airframe)[:20],
            xy=(point.ias_kt, point.correction_kt),
            xytext=(0.0, np.copysign(bar + 2.0, beyond)),
            textcoords="offset points",
            ha="center",
            va="bottom" if beyond > 0.0 else "top",
            fontsize=layout.small_text,
            zorder=7,
        )


def _crowded(place: tuple[float, float], placed: dict[str, tuple[float, float]]) -> bool:
    return any(
        abs(place[0] - other[0]) < _TAG_ROOM[0] and abs(place[1] - other[1]) < _TAG_ROOM[1]
        for other in placed.values()
    )


def _beyond_band(point: PlottedPoint, curve: CurveArrays) -> float:
    """Return by how many kt a point lies above (+) or below (-) the outer band, else 0."""
    low, high = (
        float(np.interp(point.ias_kt, curve.ias, edge, left=np.nan, right=np.nan))
        for edge in (curve.next_low, curve.next_high)
    )
    if np.isnan(low) or np.isnan(high):
        return 0.0
    return max(point.correction_kt - high, 0.0) + min(point.correction_kt - low, 0.0)
