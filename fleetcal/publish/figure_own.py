"""The layers of a figure of one airframe: its own curve and band, and the mean of its group."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from fleetcal.plain_text import one_line
from fleetcal.publish.figure_layers import CurveArrays
from fleetcal.publish.one_airframe import OneAirframe
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_TAG_LETTERS: Final = 16
BAND_WORDS: Final = "95 % band of this aircraft"
GROUP_WORDS: Final = "the group's mean"
POINT_WORDS: Final = "its points, ± standard uncertainty"


def short_tag(own: OneAirframe) -> str:
    """Return the tag as a figure has room for it."""
    return one_line(own.tag)[:_TAG_LETTERS]


def draw_own_band(axes: Axes, curve: CurveArrays) -> None:
    """Draw the one band, with a dashed edge."""
    axes.fill_between(
        curve.ias,
        curve.next_low,
        curve.next_high,
        facecolor=LIGHT["mean-band"],
        edgecolor="none",
        zorder=0.4,
        label=BAND_WORDS,
    )
    for edge in (curve.next_low, curve.next_high):
        axes.plot(curve.ias, edge, color=LIGHT["mean-line"], linewidth=0.8, dashes=(5, 3), zorder=3)


def draw_group_mean(axes: Axes, own: OneAirframe) -> None:
    """Draw the mean of the group, thin, where there is one."""
    if not own.group_mean:
        return
    ias, correction = np.array(own.group_mean).T
    line: dict[str, Any] = {"color": LIGHT["next-edge"], "linewidth": 1.0, "zorder": 4}
    axes.plot(ias, correction, label=GROUP_WORDS, **line)


def own_labels(curve: CurveArrays, own: OneAirframe) -> list[tuple[str, float, str]]:
    """Return what stands at the right-hand ends of the lines, as words, height in kt and colour.

    Returns:
        From the top downwards; nothing where the curve has no values.
    """
    reached = np.flatnonzero(np.isfinite(curve.mean))
    if reached.size == 0:
        return []
    end = reached[-1]
    labels = [
        ("95 % band of\nthis aircraft", float(curve.next_high[end]), LIGHT["mean-line"]),
        (short_tag(own), float(curve.mean[end]), LIGHT["mean-line"]),
    ]
    if own.group_mean:
        labels.append((GROUP_WORDS, own.group_mean[-1][1], LIGHT["next-edge"]))
    return sorted(labels, key=lambda label: -label[1])
