"""The lower part of a flight's figure: ground vectors, wind and circle of each run."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.plain_text import signed
from fleetcal.publish.flight_picture import PicturedRun
from fleetcal.publish.label_bearings import label_bearings
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_ROOM: Final = 1.44  # of the circle's radius, above and below it
_LABEL_GAP: Final = 4.5  # points
_LONGEST_BAR: Final = 11.0
_MOST_POINTS_PER_KT: Final = 60.0  # so that rounding does not look like scatter
_POINTS_PER_INCH: Final = 72.0


def bar_points_per_kt(runs: tuple[PicturedRun, ...]) -> float:
    """Return how long residuals are drawn, the same for all runs.

    Returns:
        Points for 1 kt.
    """
    residuals = [
        abs(leg.residual_kt) for run in runs for leg in run.legs if leg.residual_kt is not None
    ]
    largest = max([*residuals, _LONGEST_BAR / _MOST_POINTS_PER_KT])
    return _LONGEST_BAR / largest


def draw_run(axes: Axes, run: PicturedRun, bar_points: float, text_size: float) -> None:
    """Draw the ground vectors of a run, the wind and the circle of the airspeed.

    Args:
        bar_points: How long a residual of 1 kt is drawn.
        text_size: Of the labels, points.
    """
    from matplotlib.patches import Circle

    away = math.radians(run.wind_from_deg + 180.0)
    wind = (run.wind_speed_kt * math.sin(away), run.wind_speed_kt * math.cos(away))
    reach = _ROOM * run.tas_kt
    box = axes.get_window_extent()
    wide = reach * box.width / box.height
    kt_per_point = 2.0 * reach / (box.height / axes.figure.dpi * _POINTS_PER_INCH)
    axes.set_xlim(wind[0] - wide, wind[0] + wide)
    axes.set_ylim(wind[1] - reach, wind[1] + reach)
    axes.set_aspect("equal")
    axes.set_axis_off()
    axes.add_patch(
        Circle(wind, run.tas_kt, fill=False, edgecolor=LIGHT["mean-line"], linewidth=1.4, zorder=3)
    )
    if run.samples_kt.size:
        axes.plot(*run.samples_kt, ".", color=LIGHT["point"], markersize=1.5, zorder=2)
    _draw_tips(axes, run)
    _draw_residuals(axes, run, wind, (kt_per_point, bar_points), text_size)
    _draw_wind(axes, run, wind)
    _draw_compass(axes, run, wind, text_size)


def _draw_compass(
    axes: Axes, run: PicturedRun, wind: tuple[float, float], text_size: float
) -> None:
    """Mark the quarters inside the circle, with north named."""
    for bearing in (0.0, 90.0, 180.0, 270.0):
        x, y = math.sin(math.radians(bearing)), math.cos(math.radians(bearing))
        ends = np.array([0.93, 1.0]) * run.tas_kt
        axes.plot(
            wind[0] + ends * x, wind[1] + ends * y, color=LIGHT["quiet"], linewidth=0.8, zorder=2
        )
    axes.text(
        wind[0],
        wind[1] + 0.86 * run.tas_kt,
        "N",
        ha="center",
        va="top",
        fontsize=text_size,
        color=LIGHT["quiet"],
        zorder=3,
        bbox={"facecolor": LIGHT["paper"], "edgecolor": "none", "pad": 1.0},
    )


def _draw_tips(axes: Axes, run: PicturedRun) -> None:
    for leg in run.legs:
        axes.plot(
            [0.0, leg.east_kt], [0.0, leg.north_kt], color=LIGHT["quiet"], linewidth=0.6, zorder=2
        )
        axes.plot(
            leg.east_kt,
            leg.north_kt,
            "o",
            markersize=4.2,
            markerfacecolor=LIGHT["paper"],
            markeredgecolor=LIGHT["point"],
            markeredgewidth=0.9,
            zorder=6,
        )


def _draw_residuals(
    axes: Axes,
    run: PicturedRun,
    wind: tuple[float, float],
    scales: tuple[float, float],
    text_size: float,
) -> None:
    """Draw a bar from the circle for each residual, and write number and residual beside it.

    `scales` are kt a point of the drawing, and points a kt of residual.
    """
    kt_per_point, bar_points = scales
    bearings = [math.atan2(leg.east_kt - wind[0], leg.north_kt - wind[1]) for leg in run.legs]
    for leg, bearing, label_bearing in zip(
        run.legs, bearings, label_bearings(bearings), strict=True
    ):
        bar = kt_per_point * bar_points * (leg.residual_kt or 0.0)
        ends = np.array([run.tas_kt, run.tas_kt + bar])
        axes.plot(
            wind[0] + ends * math.sin(bearing),
            wind[1] + ends * math.cos(bearing),
            color=LIGHT["next-edge"],
            linewidth=3.0,
            solid_capstyle="butt",
            zorder=5,
        )
        residual = "" if leg.residual_kt is None else f": {signed(leg.residual_kt, 2)}"
        x, y = math.sin(label_bearing), math.cos(label_bearing)
        away = run.tas_kt + _LABEL_GAP * kt_per_point + max(bar, 0.0)
        axes.text(
            wind[0] + away * x,
            wind[1] + away * y,
            f"{leg.leg}{residual}",
            ha="left" if x > 0.3 else "right" if x < -0.3 else "center",
            va="bottom" if y > 0.3 else "top" if y < -0.3 else "center",
            fontsize=text_size,
            zorder=7,
        )


def _draw_wind(axes: Axes, run: PicturedRun, wind: tuple[float, float]) -> None:
    axes.plot(0.0, 0.0, "o", markersize=2.2, color=LIGHT["ink"], zorder=5)
    axes.annotate(
        "",
        wind,
        xytext=(0.0, 0.0),
        zorder=6,
        arrowprops={
            "arrowstyle": "-|>,head_width=0.16,head_length=0.32",
            "color": LIGHT["next-edge"],
            "linewidth": 1.6,
            "shrinkA": 0,
            "shrinkB": 0,
        },
    )


def run_words(run: PicturedRun, letters: int) -> tuple[str, str]:
    """Return the heading of a run and the lines below it.

    Args:
        letters: That fit on a line.
    """
    heading = f"run {run.number}: {run.vic_kt:.1f} kt indicated"
    lines = [
        f"true airspeed {run.tas_kt:.1f} kt",
        f"wind {run.wind_speed_kt:.1f} kt from {run.wind_from_deg:03.0f}°",
        f"correction to add {signed(run.dvpc_kt, 2)} kt, U95 {run.U95_dvpc_kt:.2f} kt",
        f"kappa {signed(run.kappa, 4)}, u {run.u_kappa:.4f}",
        _residual_words(run),
    ]
    if run.reason:
        lines += textwrap.wrap(
            f"NOT ACCEPTED: {run.reason}", letters, max_lines=4, placeholder=" …"
        )
    return heading, "\n".join(lines)


def _residual_words(run: PicturedRun) -> str:
    if run.residual_kt is None:
        return "three legs leave no residual"
    if not run.legs:
        return f"residual {run.residual_kt:.2f} kt a sample"
    spare = len(run.legs) - 3
    return f"residual {run.residual_kt:.2f} kt by {spare} spare {'leg' if spare == 1 else 'legs'}"
