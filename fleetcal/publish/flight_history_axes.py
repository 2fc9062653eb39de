"""The upper part of a flight's figure: readings against time, legs shaded and numbered."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from fleetcal.publish.flight_picture import FlightHistory, FlightPicture, Floats, PicturedLeg
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: Tints of neighbouring runs; the numbers above tell them apart as well.
RUN_TINTS: Final = (LIGHT["mean-band"], LIGHT["next-band"])
_MINUTE_S: Final = 60.0
_POINTS_PER_INCH: Final = 72.0
_NAME_AT: Final = -0.064  # of the panel's width: names of all panels in one line


@dataclass(frozen=True)
class Span:
    """A run with the stretches that it was flown in, in s; `level` of its label, from 0."""

    number: int
    parts: tuple[tuple[float, float, str], ...]
    level: int = 0

    @property
    def start(self) -> float:
        """First moment."""
        return min(start for start, _, _ in self.parts)

    @property
    def stop(self) -> float:
        """Last moment."""
        return max(stop for _, stop, _ in self.parts)


def run_spans(picture: FlightPicture) -> list[Span]:
    """Return the stretches of each solved run, labels that would meet on different levels."""
    ends: list[float] = []
    spans = []
    for span in sorted(_spans(picture), key=lambda one: one.start):
        level = next((i for i, end in enumerate(ends) if end < span.start), len(ends))
        ends[level : level + 1] = [span.stop]
        spans.append(Span(span.number, span.parts, level))
    return spans


def _spans(picture: FlightPicture) -> Iterator[Span]:
    for run in picture.runs:
        parts = tuple(
            (leg.start_s, leg.stop_s, str(leg.leg))
            for leg in run.legs
            if leg.start_s is not None and leg.stop_s is not None
        )
        if run.start_s is not None and run.stop_s is not None:
            parts = ((run.start_s, run.stop_s, ""),)
        if parts:
            yield Span(run.number, parts)


def draw_history(
    panels: Sequence[Axes], history: FlightHistory, airspeed_name: str, text_size: float
) -> None:
    """Draw airspeed, altitude, track and ground speed against time.

    Args:
        panels: Four, from the top downwards.
        text_size: Of the names, points.
    """
    from matplotlib.ticker import MaxNLocator

    minutes = history.time_s / _MINUTE_S
    shown = (
        (airspeed_name.replace(" ", "\n", 1), "kt", history.airspeed_kt),
        ("pressure\naltitude", "ft", history.altitude_ft),
        ("track", "deg", history.track_deg),
        ("ground\nspeed", "kt", history.ground_speed_kt),
    )
    for axes, (name, unit, values) in zip(panels, shown, strict=True):
        line = _unwrapped(values) if unit == "deg" else values
        axes.plot(minutes, line, color=LIGHT["ink"], linewidth=0.9, zorder=4)
        axes.set_xlim(float(minutes[0]), float(minutes[-1]))
        axes.grid(True, axis="y", zorder=1)
        axes.set_axisbelow(True)
        axes.spines[["top", "right"]].set_visible(False)
        axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
        axes.tick_params(labelbottom=axes is panels[-1])
        axes.set_ylabel(f"{name}, {unit}", fontsize=text_size)
        axes.yaxis.set_label_coords(_NAME_AT, 0.5)
    panels[2].set_ylim(0.0, 360.0)
    panels[2].set_yticks([0, 90, 180, 270, 360])
    panels[-1].set_xlabel("time from the first sample, min")


def _unwrapped(track_deg: Floats) -> Floats:
    """Return tracks with a gap wherever they pass through north."""
    line = np.array(track_deg, dtype=np.float64)
    line[1:][np.abs(np.diff(track_deg)) > 180.0] = np.nan
    return line


def shade_legs(
    panels: Sequence[Axes], spans: Sequence[Span], others: Sequence[PicturedLeg]
) -> None:
    """Shade the stretches that were used, and mark those that were not."""
    edge: dict[str, Any] = {"alpha": 0.75, "zorder": 2, "linewidth": 0.0}
    for axes in panels:
        for place, span in enumerate(spans):
            for start, stop, _ in span.parts:
                tint = RUN_TINTS[place % len(RUN_TINTS)]
                axes.axvspan(start / _MINUTE_S, stop / _MINUTE_S, color=tint, **edge)
                axes.axvline(start / _MINUTE_S, color=LIGHT["paper"], linewidth=0.8, zorder=2.1)
        for leg in others:
            if leg.start_s is None or leg.stop_s is None:
                continue
            axes.axvspan(
                leg.start_s / _MINUTE_S,
                leg.stop_s / _MINUTE_S,
                facecolor="none",
                edgecolor=LIGHT["quiet"] if leg.left_out else LIGHT["rule"],
                linewidth=0.0,
                hatch="xx" if leg.left_out else "////",
                zorder=1.5,
            )


def number_legs(
    axes: Axes, spans: Sequence[Span], others: Sequence[PicturedLeg], size: float
) -> None:
    """Write the numbers of legs and runs above the uppermost panel.

    Args:
        others: Those left out by hand are numbered too.
        size: Of the text, points.
    """
    room = _seconds_per_point(axes) * size * 0.62
    free = -math.inf
    for start, stop, label in sorted(part for span in spans for part in span.parts):
        # Neighbours are moved apart, or legs 1 and 2 would read as 12.
        middle = max((start + stop) / 2.0, free + room * len(label) / 2.0)
        free = middle + room * (len(label) / 2.0 + 0.6)
        _write_above(axes, middle, 1.0, label, size)
    for span in spans:
        height = (1.6 + 1.7 * span.level) * size
        heading = f"run {span.number}"
        _write_above(
            axes, (span.start + span.stop) / 2.0, height, text=heading, size=size, weight="bold"
        )
    for leg in others:
        if leg.left_out and leg.start_s is not None and leg.stop_s is not None:
            _write_above(axes, (leg.start_s + leg.stop_s) / 2.0, 1.0, f"({leg.leg})", size)


def _seconds_per_point(axes: Axes) -> float:
    width = axes.get_window_extent().width / axes.figure.dpi * _POINTS_PER_INCH
    return float(np.ptp(axes.get_xlim())) * _MINUTE_S / width


def _write_above(
    axes: Axes, time_s: float, height: float, text: str, size: float, weight: str = "normal"
) -> None:
    """Write text above the axes at a time; `height` in points."""
    axes.annotate(
        text,
        (time_s / _MINUTE_S, 1.0),
        xycoords=axes.get_xaxis_transform(),
        xytext=(0.0, height),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=size,
        fontweight=weight,
        annotation_clip=False,
    )
