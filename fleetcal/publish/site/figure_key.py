"""The key of a curve's figure: what is drawn, and what a reader may hide."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.publish.pooled_table import PlottedPoint
from fleetcal.wording import decimal

#: What the bars of points are, beside bands of 95 %.
BARS = "bars ± 1 u: they hold 2 times in 3, the bands 19 in 20"


@dataclass(frozen=True)
class KeyLine:
    """One line of a key; `hides` are the classes of what it names in the drawing."""

    words: str
    swatch: str
    hides: str


def group_key(points: Sequence[PlottedPoint], *, handbook: bool) -> list[KeyLine]:
    """Return the key of a group's figure."""
    lines = [
        KeyLine("the group's mean", "mean", ".mean-line"),
        KeyLine("95 % band of the group's mean", "mean-band", ".mean-band"),
        KeyLine(
            "95 % band for another aircraft of the group",
            "next-band",
            ".next-band,.next-edge",
        ),
    ]
    if points:
        lines.append(KeyLine(f"points, {BARS}", "points", ".point,.tag"))
    if handbook:
        lines.append(KeyLine("the handbook", "of-handbook", ".handbook"))
    return lines


def own_key(
    tag: str,
    points: Sequence[PlottedPoint],
    others: Sequence[PlottedPoint],
    *,
    group_mean: bool,
    group_band: bool,
    unit: str,
) -> list[KeyLine]:
    """Return the key of the figure of one airframe."""
    lines = [
        KeyLine(tag, "mean", ".mean-line"),
        KeyLine("95 % band of this aircraft", "own-band", ".mean-band,.own-edge"),
    ]
    if points:
        lines.append(KeyLine(f"its points, {BARS}", "points", ".point"))
    if group_mean:
        lines.append(KeyLine("the group's mean", "group-mean", ".group-mean"))
    if group_band:
        words = "95 % band for another aircraft of the group"
        lines.append(KeyLine(words, "next-edge", ".next-edge"))
    if others:
        usual = decimal(statistics.median(one.u_correction_kt for one in others))
        words = f"points of the others of the group; their bars, ± {usual} {unit}, are not drawn"
        lines.append(KeyLine(words, "others", ".others"))
    return lines
