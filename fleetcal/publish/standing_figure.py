"""The figure of one airframe's standing: its group's curve with both bands, and its own.

Matplotlib is imported inside the functions: a program that prints a table must
not wait for it.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.drawing_file import drawing_bytes, drawing_style, glyphs_may_be_missing
from fleetcal.publish.figure_layers import CurveArrays, draw_bands
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_NAME: Final = "standing-figure"
_WIDTH, _PLOT, _LEFT, _RIGHT = 720.0, 330.0, 52.0, 150.0
_ABOVE, _BELOW, _TEXT, _LETTERS = 62.0, 60.0, 10.0, 118
_APART: Final = 25.0  # points between neighbouring labels


@dataclass(frozen=True)
class OwnPoint:
    """One point of the airframe, with its number when it disagrees with the others."""

    ias_kt: float
    correction_kt: float
    u_correction_kt: float
    odd_name: str = ""


@dataclass(frozen=True)
class OwnCurve:
    """An airframe's own curve over the speeds that it flew: pairs of IAS and correction, kt."""

    airframe: str
    places: tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class StandingPicture:
    """One airframe in one group.

    Attributes:
        curve: Of the group.
        points: Of the airframe.
        heading, speed: What stands up and across.
        from_zero: Whether the line of zero is drawn.
    """

    title: str
    facts: str
    verdict: str
    curve: CurveArrays
    own: OwnCurve
    others: tuple[OwnCurve, ...]
    points: tuple[OwnPoint, ...]
    heading: str = "correction to add, kt"
    speed: str = "indicated airspeed, kt"
    from_zero: bool = True


def standing_figure(pictures: tuple[StandingPicture, ...], kind: str) -> bytes:
    """Draw where an airframe stands, in each group that it flew in.

    Args:
        pictures: One below the other.
        kind: ``svg``, ``png`` or ``pdf``.

    Returns:
        Of a file. The same pictures give the same bytes.
    """
    import matplotlib.style

    with (
        matplotlib.style.context(["default", drawing_style(_NAME, _TEXT)]),
        glyphs_may_be_missing(),
    ):
        figure = draw_standings(pictures)
        words = " ".join(f"{one.title}: {one.verdict}." for one in pictures)
        description = f"{words} {SHORT_CAUTION}"
        return drawing_bytes(figure, kind, _NAME, pictures[0].title, description)


def draw_standings(pictures: tuple[StandingPicture, ...]) -> Figure:
    """Draw the figure with the settings in force."""
    from matplotlib.figure import Figure

    each = _ABOVE + _PLOT + _BELOW
    height = each * len(pictures)
    figure = Figure(figsize=(_WIDTH / 72.0, height / 72.0), facecolor=LIGHT["paper"])
    for place, picture in enumerate(pictures):
        top = place * each
        rectangle = (
            _LEFT / _WIDTH,
            1.0 - (top + _ABOVE + _PLOT) / height,
            (_WIDTH - _LEFT - _RIGHT) / _WIDTH,
            _PLOT / height,
        )
        for text, down, how in (
            (picture.title, 8.0, {"fontweight": "bold", "fontsize": _TEXT + 2.0}),
            (picture.facts, 25.0, {"color": LIGHT["quiet"]}),
            (picture.heading, 43.0, {}),
            (SHORT_CAUTION, each - 18.0, {"color": LIGHT["quiet"], "fontsize": _TEXT - 1.0}),
        ):
            words = textwrap.shorten(one_line(text), _LETTERS, placeholder=" …")
            figure.text(10.0 / _WIDTH, 1.0 - (top + down) / height, words, va="top", **how)
        _draw_panel(figure.add_axes(rectangle, facecolor=LIGHT["paper"]), picture)
    return figure


def _draw_panel(axes: Axes, picture: StandingPicture) -> None:
    curve = picture.curve
    draw_bands(axes, curve)
    for other in picture.others:
        axes.plot(*zip(*other.places, strict=True), color=LIGHT["quiet"], linewidth=0.6, alpha=0.55)
    axes.plot(curve.ias, curve.mean, color=LIGHT["mean-line"], linewidth=2.2, zorder=5)
    axes.plot(
        *zip(*picture.own.places, strict=True),
        color=LIGHT["ink"],
        linewidth=2.2,
        dashes=(6, 1.5, 1.5, 1.5),
        zorder=6,
    )
    axes.errorbar(
        [p.ias_kt for p in picture.points],
        [p.correction_kt for p in picture.points],
        yerr=[p.u_correction_kt for p in picture.points],
        linestyle="none",
        marker="o",
        markersize=4.6,
        markerfacecolor=LIGHT["paper"],
        markeredgecolor=LIGHT["ink"],
        ecolor=LIGHT["ink"],
        elinewidth=0.8,
        zorder=7,
    )
    for point in picture.points:
        if point.odd_name:
            place = (point.ias_kt, point.correction_kt)
            axes.plot(
                *place, "x", color=LIGHT["alarm"], markersize=11, markeredgewidth=1.8, zorder=8
            )
            axes.annotate(
                point.odd_name, place, xytext=(8, 4), textcoords="offset points", zorder=8
            )
    if picture.from_zero:
        axes.axhline(0.0, color=LIGHT["ink"], linewidth=0.8, zorder=2)
    axes.grid(True, axis="y")
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.margins(x=0.02, y=0.06)
    axes.set_xlabel(picture.speed)
    _label(axes, picture)


def _label(axes: Axes, picture: StandingPicture) -> None:
    """Name every line at its right-hand end, moved apart where they would meet."""
    curve = picture.curve
    end = int(np.flatnonzero(np.isfinite(curve.mean))[-1])
    ias = float(curve.ias[end])
    labels = [
        (f"{one_line(picture.own.airframe)[:16]}: {picture.verdict}", *picture.own.places[-1]),
        ("another aircraft of\nthe group, 95 %", ias, float(curve.next_high[end])),
        ("the group's mean", ias, float(curve.mean[end])),
        ("95 % band of\nthe group's mean", ias, float(curve.mean_low[end])),
    ]
    if picture.others:
        labels.append(("thin: the others'\nown curves", *picture.others[0].places[-1]))
    colours = dict(
        zip((w[0] for w in labels[1:4]), ("next-edge", "mean-line", "mean-line"), strict=True)
    )
    low, high = axes.get_ylim()
    labels.sort(key=lambda item: -item[2])
    ceiling = _PLOT + _APART / 2.0
    for place, (text, x, y) in enumerate(labels):
        floor = _APART * (len(labels) - place - 0.5)
        height = max(min((y - low) / (high - low) * _PLOT, ceiling - _APART), floor)
        ceiling = height
        colour = LIGHT[colours.get(text, "ink" if text[0] != "t" else "quiet")]
        axes.annotate(
            text,
            (x, y),
            xytext=(1.0 + 16.0 / (_WIDTH - _LEFT - _RIGHT), height / _PLOT),
            textcoords="axes fraction",
            va="center",
            fontsize=_TEXT - 1.0,
            fontweight="bold" if colour == LIGHT["ink"] else "normal",
            color=colour,
            arrowprops={"arrowstyle": "-", "color": colour, "linewidth": 0.7, "relpos": (0.0, 0.5)},
            annotation_clip=False,
        )
