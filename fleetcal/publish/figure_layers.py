"""What lies inside the axes of the figure: curve, bands and points."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

from fleetcal.plain_text import one_line, signed
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.table_limit import TableLimit
from fleetcal.publish.table_row import TableRow

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: What the line of the airspeed yardstick is called in a figure.
ALLOWED_WORDS: Final = "3 % or 5 kt, a yardstick only"


@dataclass(frozen=True, kw_only=True)
class CurveArrays:
    """The curve as arrays (n,) in kt; nan where the data do not reach."""

    ias: npt.NDArray[np.float64]
    mean: npt.NDArray[np.float64]
    mean_low: npt.NDArray[np.float64]
    mean_high: npt.NDArray[np.float64]
    next_low: npt.NDArray[np.float64]
    next_high: npt.NDArray[np.float64]


def curve_arrays(rows: tuple[TableRow, ...]) -> CurveArrays:
    """Return rows as arrays (n,) in kt, nan where a row is empty."""

    def column(name: str) -> npt.NDArray[np.float64]:
        values = (getattr(row, name) for row in rows)
        return np.array(
            [math.nan if value is None else value for value in values], dtype=np.float64
        )

    return CurveArrays(
        ias=column("ias_kt"),
        mean=column("correction_kt"),
        mean_low=column("mean_low_kt"),
        mean_high=column("mean_high_kt"),
        next_low=column("next_low_kt"),
        next_high=column("next_high_kt"),
    )


def set_axes(axes: Axes, table: PooledTable, curve: CurveArrays) -> None:
    """Set limits, ticks, grid and the line of no error."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    axes.set_xlim(*_speed_limits(table, curve))
    axes.set_ylim(*_correction_limits(table, curve))
    axes.xaxis.set_major_locator(MaxNLocator(8, steps=[1, 2, 5, 10], integer=True))
    axes.yaxis.set_major_locator(MaxNLocator(9, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(_correction_tick))
    axes.grid(True, axis="y", zorder=0)
    axes.set_axisbelow(True)
    axes.axhline(0.0, color=LIGHT["ink"], linewidth=1.0, zorder=2)
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_xlabel(
        f"indicated airspeed, {table.form.speed_unit} (IAS at {table.weight_kg:.0f} kg)"
    )


def _correction_tick(value: float, _position: int | None = None) -> str:
    return signed(value, 0 if float(value).is_integer() else 1)


def _speed_limits(table: PooledTable, curve: CurveArrays) -> tuple[float, float]:
    reached = curve.ias[np.isfinite(curve.mean)]
    speeds = np.concatenate([reached, [point.ias_kt for point in table.points]])
    if speeds.size == 0:
        speeds = curve.ias
    margin = max(1.0, 0.02 * float(np.ptp(speeds)))
    return float(speeds.min()) - margin, float(speeds.max()) + margin


def _correction_limits(table: PooledTable, curve: CurveArrays) -> tuple[float, float]:
    ends = [
        end
        for point in table.points
        for end in (
            point.correction_kt - point.u_correction_kt,
            point.correction_kt + point.u_correction_kt,
        )
    ]
    values = np.concatenate(
        [curve.next_low, curve.next_high, curve.mean_low, curve.mean_high, ends]
    )
    values = np.append(values[np.isfinite(values)], [-1.0, 1.0])
    if table.airframe is not None:
        values = np.append(values, [correction for _, correction in table.airframe.group_mean])
    if table.allowed and table.airframe is None:
        # The limit on the side where the curve lies gives a scale; the other may fall outside.
        side = 1.0 if values.max() >= -values.min() else -1.0
        values = np.append(values, side * max(error for _, error in table.allowed))
    margin = 0.08 * float(np.ptp(values))
    return float(values.min()) - margin, float(values.max()) + margin


def draw_bands(axes: Axes, curve: CurveArrays) -> None:
    """Draw both bands, the outer one with a dashed edge."""
    axes.fill_between(
        curve.ias,
        curve.next_low,
        curve.next_high,
        facecolor=LIGHT["next-band"],
        edgecolor="none",
        zorder=0.3,
        label="95 % band for another aircraft of the group",
    )
    for edge in (curve.next_low, curve.next_high):
        axes.plot(curve.ias, edge, color=LIGHT["next-edge"], linewidth=1.0, dashes=(5, 3), zorder=3)
    axes.fill_between(
        curve.ias,
        curve.mean_low,
        curve.mean_high,
        facecolor=LIGHT["mean-band"],
        edgecolor="none",
        zorder=0.4,
        label="95 % band of the group's mean",
    )


def draw_allowed(axes: Axes, table: PooledTable) -> None:
    """Draw the airspeed error that a rule allowed, as a quiet line on either side.

    Args:
        axes: With its limits set.
    """
    if not table.allowed:
        return
    speeds = np.array([speed for speed, _ in table.allowed])
    errors = np.array([error for _, error in table.allowed])
    low, high = axes.get_ylim()
    for side in (-1.0, 1.0):
        if low < side * errors.min() < high:
            axes.plot(speeds, side * errors, color=LIGHT["quiet"], linewidth=0.9, dashes=(1, 2.5))
            axes.annotate(
                ALLOWED_WORDS,
                (speeds[0], side * errors[0]),
                xytext=(2.0, -3.0 * side),
                textcoords="offset points",
                va="top" if side > 0.0 else "bottom",
                fontsize="small",
                color=LIGHT["quiet"],
                zorder=4,
            )


def draw_bounds(axes: Axes, table: PooledTable) -> None:
    """Draw the limits above which nothing is for flying, where they lie among the speeds shown.

    Args:
        axes: With its limits set.
        table: In its own unit.
    """
    first, last = axes.get_xlim()
    for limit in table.limits:
        if not limit.bound or not first < limit.usable_kt < last:
            continue
        axes.axvline(limit.usable_kt, color=LIGHT["alarm"], linewidth=1.4, zorder=4)
        left = limit.usable_kt < (first + last) / 2.0
        axes.annotate(
            bound_label(limit),
            (limit.usable_kt, axes.get_ylim()[1]),
            xytext=(3.0 if left else -3.0, 0.0),
            textcoords="offset points",
            ha="left" if left else "right",
            va="top",
            fontsize="small",
            color=LIGHT["alarm"],
            zorder=7,
        )


def bound_label(limit: TableLimit) -> str:
    """Return the name of a limit with its figure, in the unit that it is drawn in."""
    return f"{one_line(limit.name)[:30]} {math.floor(limit.usable_kt + 1e-6)}"


def draw_mean(axes: Axes, curve: CurveArrays, label: str = "the group's mean") -> None:
    """Draw the curve: of a group its mean, of an airframe its own.

    A speed without a reached neighbour gets marks of its own, as neither line nor
    band would show there; a curve without any speed is said to be missing.
    """
    axes.plot(
        curve.ias,
        curve.mean,
        color=LIGHT["mean-line"],
        linewidth=2.2,
        zorder=6,
        label=label,
    )
    alone = _without_neighbour(curve.mean)
    ias = curve.ias[alone]
    axes.vlines(ias, curve.next_low[alone], curve.next_high[alone], LIGHT["next-edge"], "dashed")
    axes.vlines(ias, curve.mean_low[alone], curve.mean_high[alone], LIGHT["mean-band"], linewidth=7)
    axes.plot(ias, curve.mean[alone], "D", color=LIGHT["mean-line"], zorder=6)
    if not np.isfinite(curve.mean).any():
        axes.text(0.5, 0.75, "no curve at any speed", ha="center", transform=axes.transAxes)


def _without_neighbour(mean: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    reached = np.concatenate([[False], np.isfinite(mean), [False]])
    alone: npt.NDArray[np.bool_] = reached[1:-1] & ~reached[:-2] & ~reached[2:]
    return alone


def draw_points(
    axes: Axes,
    points: tuple[PlottedPoint, ...],
    label: str = "points, ± standard uncertainty",
) -> None:
    """Draw every point with its standard uncertainty."""
    if not points:
        return
    axes.errorbar(
        [point.ias_kt for point in points],
        [point.correction_kt for point in points],
        yerr=[point.u_correction_kt for point in points],
        linestyle="none",
        marker="o",
        markersize=4.2,
        markerfacecolor=LIGHT["paper"],
        markeredgecolor=LIGHT["point"],
        markeredgewidth=0.9,
        ecolor=LIGHT["point"],
        elinewidth=0.6,
        zorder=5,
        label=label,
    )
