"""The figure of a pooled climb or glide: the rate over CAS, both bands, and the best speeds.

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
from fleetcal.wording import with_sign

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_NAME: Final = "climb-figure"
_WIDTH, _HEIGHT, _TEXT, _LETTERS = 720.0, 500.0, 10.0, 118
_LEFT, _RIGHT, _ABOVE, _BELOW = 58.0, 18.0, 62.0, 112.0


@dataclass(frozen=True, kw_only=True)
class BestMark:
    """A best speed with its interval, at its rate: CAS in kt, rate in ft/min."""

    name: str
    cas_kt: float
    low_kt: float
    high_kt: float
    rate_ftmin: float


@dataclass(frozen=True, kw_only=True)
class ClimbPicture:
    """A pooled climb or glide.

    Attributes:
        curve: Over CAS, in ft/min.
        points: CAS at reference weight and rate of each measurement.
    """

    title: str
    facts: str
    heading: str
    curve: CurveArrays
    points: tuple[tuple[float, float], ...]
    best: tuple[BestMark, ...]


def climb_figure(picture: ClimbPicture, kind: str) -> bytes:
    """Draw the curve of a group's climbs or glides.

    Args:
        kind: ``svg``, ``png`` or ``pdf``.

    Returns:
        Of a file. The same picture gives the same bytes.
    """
    import matplotlib.style

    with (
        matplotlib.style.context(["default", drawing_style(_NAME, _TEXT)]),
        glyphs_may_be_missing(),
    ):
        figure = _draw(picture)
        best_words = " ".join(f"{_words(mark)}." for mark in picture.best)
        description = f"{picture.title}. {best_words} {SHORT_CAUTION}"
        return drawing_bytes(figure, kind, _NAME, picture.title, description)


def _draw(picture: ClimbPicture) -> Figure:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH / 72.0, _HEIGHT / 72.0), facecolor=LIGHT["paper"])
    rectangle = (
        _LEFT / _WIDTH,
        _BELOW / _HEIGHT,
        (_WIDTH - _LEFT - _RIGHT) / _WIDTH,
        (_HEIGHT - _ABOVE - _BELOW) / _HEIGHT,
    )
    quiet = {"color": LIGHT["quiet"]}
    for text, down, how in (
        (picture.title, 8.0, {"fontweight": "bold", "fontsize": _TEXT + 2.0}),
        (picture.facts, 25.0, quiet),
        (picture.heading, 43.0, {}),
        (SHORT_CAUTION, _HEIGHT - 18.0, {**quiet, "fontsize": _TEXT - 1.0}),
    ):
        words = textwrap.shorten(one_line(text), _LETTERS, placeholder=" …")
        figure.text(10.0 / _WIDTH, 1.0 - down / _HEIGHT, words, va="top", **how)
    axes = figure.add_axes(rectangle, facecolor=LIGHT["paper"])
    _draw_curve(axes, picture)
    for mark, symbol in zip(picture.best, ("D", "s"), strict=False):
        _draw_best(axes, mark, symbol)
    figure.legend(
        loc="lower left",
        bbox_to_anchor=(10.0 / _WIDTH, 22.0 / _HEIGHT),
        ncols=2,
        frameon=False,
        fontsize=_TEXT - 1.0,
        borderaxespad=0.0,
    )
    return figure


def _draw_curve(axes: Axes, picture: ClimbPicture) -> None:
    curve = picture.curve
    draw_bands(axes, curve)
    axes.plot(
        curve.ias,
        curve.mean,
        color=LIGHT["mean-line"],
        linewidth=2.2,
        zorder=5,
        label="the group's mean",
    )
    axes.plot(
        *np.array(picture.points).T,
        "o",
        color=LIGHT["point"],
        markersize=3.2,
        alpha=0.75,
        zorder=4,
        label="measured, at reference weight",
    )
    axes.grid(True, axis="y")
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.margins(x=0.03, y=0.08)
    axes.set_xlabel("calibrated airspeed, kt")


def _draw_best(axes: Axes, mark: BestMark, symbol: str) -> None:
    """Draw a best speed on the curve with its interval as a bar, its numbers in the legend."""
    axes.errorbar(
        [mark.cas_kt],
        [mark.rate_ftmin],
        xerr=[[mark.cas_kt - mark.low_kt], [mark.high_kt - mark.cas_kt]],
        marker=symbol,
        markersize=6.5,
        markerfacecolor=LIGHT["paper"],
        markeredgecolor=LIGHT["ink"],
        ecolor=LIGHT["ink"],
        elinewidth=1.8,
        capsize=4.0,
        linestyle="none",
        zorder=8,
        label=_words(mark),
    )


def _words(mark: BestMark) -> str:
    return (
        f"{mark.name}: {mark.cas_kt:.1f} kt CAS ({mark.low_kt:.1f} to {mark.high_kt:.1f}, 95 %), "
        f"{with_sign(mark.rate_ftmin, 0)} ft/min"
    )
