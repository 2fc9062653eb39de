"""The figure of two curves compared: their difference over the airspeeds, with its band."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDTH, _HEIGHT, _LEFT, _RIGHT = 720.0, 420.0, 52.0, 20.0
_ABOVE, _BELOW = 90.0, 66.0
_LETTERS, _BOLD_LETTERS = 118, 104
_BAND: Final = "its 95 % band"


@dataclass(frozen=True, kw_only=True)
class DifferencePicture:
    """Two curves compared.

    Attributes:
        heading, speed: What stands up and across.
        places (sequence of (speed, difference, low, high)): Second curve less first, with the ends
            of its 95 % band.
    """

    title: str
    facts: str
    heading: str
    speed: str
    places: Sequence[tuple[float, float, float, float]]


def draw_difference(picture: DifferencePicture) -> Figure:
    """Draw the figure with the settings in force."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH / 72.0, _HEIGHT / 72.0), facecolor=LIGHT["paper"])
    lines: tuple[tuple[str, float, dict[str, Any]], ...] = (
        (_wrapped(picture.title, _BOLD_LETTERS), 8.0, {"fontweight": "bold"}),
        (_wrapped(picture.facts, _LETTERS), 38.0, {"color": LIGHT["quiet"]}),
        (picture.heading, _ABOVE - 18.0, {}),
        (SHORT_CAUTION, _HEIGHT - 18.0, {"color": LIGHT["quiet"]}),
    )
    for text, down, how in lines:
        figure.text(10.0 / _WIDTH, 1.0 - down / _HEIGHT, text, va="top", **how)
    axes = figure.add_axes(
        (
            _LEFT / _WIDTH,
            _BELOW / _HEIGHT,
            (_WIDTH - _LEFT - _RIGHT) / _WIDTH,
            (_HEIGHT - _ABOVE - _BELOW) / _HEIGHT,
        ),
        facecolor=LIGHT["paper"],
    )
    speeds, difference, low, high = (list(one) for one in zip(*picture.places, strict=True))
    axes.fill_between(
        speeds, low, high, facecolor=LIGHT["mean-band"], edgecolor="none", label=_BAND
    )
    axes.plot(speeds, difference, color=LIGHT["mean-line"], linewidth=2.2, label="difference")
    axes.axhline(0.0, color=LIGHT["ink"], linewidth=0.8)
    axes.grid(True, axis="y")
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.margins(x=0.02, y=0.08)
    axes.set_xlabel(picture.speed)
    axes.legend(frameon=False)
    return figure


def _wrapped(text: str, letters: int) -> str:
    return "\n".join(textwrap.wrap(one_line(text), letters, max_lines=2, placeholder=" …"))
