"""What one flight says of the airspeed: the correction at each speed, with its 95 % band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from fleetcal.publish.drawing_file import drawing_bytes, drawing_style, paper_drawing
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TEXT: Final = 10.0
_LEFT, _RIGHT, _ABOVE, _BELOW = 50.0, 12.0, 26.0, 40.0
_PLOT: Final = 170.0
_TITLE: Final = "What to add to the indicated airspeed"


@dataclass(frozen=True)
class AnsweredSpeed:
    """One speed of a flight, in the unit of the figure."""

    ias: float
    correction: float
    band: float
    accepted: bool


def answer_figure_svg(
    speeds: Sequence[AnsweredSpeed], unit: str, width: float, name: str = "answer"
) -> str:
    """Draw the corrections of a flight for a page.

    Args:
        speeds: Sequence of AnsweredSpeed.
        unit: Of all speeds.
        width: Points.
        name: Different for each drawing on a page.
    """
    import matplotlib.style

    with matplotlib.style.context(["default", drawing_style(name, _TEXT)]):
        figure = _draw(speeds, unit, width)
        return drawing_bytes(figure, "svg", name, _TITLE, _description(speeds, unit)).decode()


def answer_figure_on_paper(
    speeds: Sequence[AnsweredSpeed], unit: str, width: float, plot: float
) -> bytes:
    """Draw the corrections of a flight for a PDF, as an SVG.

    Args:
        speeds: Sequence of AnsweredSpeed.
        unit: Of all speeds.
        width, plot: Of the figure and height of its plot, points.
    """
    import matplotlib.style

    with matplotlib.style.context(["default", drawing_style("answer", _TEXT)]):
        return paper_drawing(_draw(speeds, unit, width, plot, paper="none"))


def answer_figure_height(plot: float = _PLOT) -> float:
    """Return how tall the figure is around a plot, points."""
    return _ABOVE + plot + _BELOW


def _draw(
    speeds: Sequence[AnsweredSpeed],
    unit: str,
    width: float,
    plot: float = _PLOT,
    paper: str = LIGHT["paper"],
) -> Figure:
    from matplotlib.figure import Figure

    height = answer_figure_height(plot)
    figure = Figure(figsize=(width / 72.0, height / 72.0), facecolor=paper)
    axes = figure.add_axes(
        (
            _LEFT / width,
            _BELOW / height,
            (width - _LEFT - _RIGHT) / width,
            plot / height,
        ),
        facecolor=paper,
    )
    axes.axhline(0.0, color=LIGHT["ink"], linewidth=1.0)
    for one in speeds:
        colour = LIGHT["mean-line"] if one.accepted else LIGHT["quiet"]
        axes.errorbar(
            one.ias,
            one.correction,
            yerr=one.band,
            color=colour,
            marker="o",
            markerfacecolor=colour if one.accepted else LIGHT["paper"],
            markersize=6.0,
            elinewidth=2.0,
            capsize=4.0,
        )
    reach = max((abs(one.correction) + one.band for one in speeds), default=1.0)
    axes.set_ylim(-1.15 * reach, 1.15 * reach)
    axes.margins(x=0.08)
    axes.grid(visible=True)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_xlabel(f"indicated airspeed, {unit}")
    axes.set_ylabel(f"add to IAS, {unit}")
    axes.text(
        0.0,
        1.02,
        "reads too slow above the line, too fast below",
        transform=axes.transAxes,
        color=LIGHT["quiet"],
        fontsize=_TEXT - 1.0,
        va="bottom",
    )
    return figure


def _description(speeds: Sequence[AnsweredSpeed], unit: str) -> str:
    return "; ".join(
        f"at {one.ias:.1f} {unit} add {one.correction:+.1f} ± {one.band:.1f} {unit}"
        f"{'' if one.accepted else ', not accepted'}"
        for one in speeds
    )
