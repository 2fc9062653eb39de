"""The figure of one flight: what was found in it, and what was solved from that.

Matplotlib is imported inside the functions: a program that prints a table must
not wait for it.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.drawing_file import drawing_bytes, drawing_style
from fleetcal.publish.flight_history_axes import (
    draw_history,
    number_legs,
    run_spans,
    shade_legs,
)
from fleetcal.publish.flight_picture import FlightPicture, PicturedRun
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.run_axes import bar_points_per_kt, draw_run, run_words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_NAME: Final = "flight-figure"
_POINTS_PER_INCH: Final = 72.0
_TEXT, _SMALL = 10.0, 9.0
_WIDTH: Final = 720.0
_LEFT, _RIGHT = 68.0, 12.0
_PANELS: Final = (84.0, 60.0, 66.0, 60.0)
_GAP: Final = 9.0
_COLUMNS: Final = 3
_CIRCLE: Final = 190.0
_LETTERS: Final = 122
_RUN_LETTERS: Final = 38
_LINE: Final = 1.3


def flight_figure(picture: FlightPicture, kind: str) -> bytes:
    """Draw what was found in a flight.

    Args:
        kind: ``svg``, ``png`` or ``pdf``.

    Returns:
        Of a file. The same picture gives the same bytes.
    """
    import matplotlib.style

    with matplotlib.style.context(["default", drawing_style(_NAME, _TEXT)]):
        figure = draw_flight(picture)
        return drawing_bytes(figure, kind, _NAME, picture.title, _description(picture))


@dataclass
class _Page:
    """A drawing that is filled from the top downwards; `used` points are taken."""

    figure: Figure
    height: float
    used: float = 10.0

    def text(self, words: str, **how: Any) -> None:
        """Write lines across the page."""
        size = how.setdefault("fontsize", _SMALL)
        self.figure.text(10.0 / _WIDTH, 1.0 - self.used / self.height, words, va="top", **how)
        self.used += (words.count("\n") + 1) * size * _LINE

    def axes(self, left: float, top: float, width: float, height: float) -> Any:
        """Return axes at a place, all in points."""
        bottom = self.height - top - height
        return self.figure.add_axes(
            (left / _WIDTH, bottom / self.height, width / _WIDTH, height / self.height),
            facecolor=LIGHT["paper"],
        )


def draw_flight(picture: FlightPicture) -> Figure:
    """Draw the figure with the settings in force."""
    from matplotlib.figure import Figure

    facts = _wrapped(picture.facts)
    notes = "\n".join(_wrapped(n) for n in (*picture.notes, PITOT_ASSUMPTION, SHORT_CAUTION))
    spans = run_spans(picture)
    labels = (2.9 + 1.7 * max((span.level for span in spans), default=0)) * _SMALL
    words = [run_words(run, _RUN_LETTERS) for run in picture.runs]
    rows = [words[i : i + _COLUMNS] for i in range(0, len(words), _COLUMNS)]
    heights = [_CIRCLE + max(_lines(facts) for _, facts in row) + 2.6 * _TEXT for row in rows]
    upper = 0.0
    if picture.history is not None:
        upper = labels + sum(_PANELS) + _GAP * len(_PANELS) + 34.0 + _lines(_key(picture))
    height = 10.0 + _TEXT * 1.7 + _lines(facts) + 8.0 + upper + sum(heights) + 44.0 + _lines(notes)
    figure = Figure(
        figsize=(_WIDTH / _POINTS_PER_INCH, height / _POINTS_PER_INCH), facecolor=LIGHT["paper"]
    )
    page = _Page(figure, height)
    page.text(one_line(picture.title), fontsize=_TEXT + 2.0, fontweight="bold")
    page.text(facts, color=LIGHT["quiet"])
    page.used += 8.0
    if picture.history is not None:
        _draw_history(page, picture, labels)
    _draw_runs(page, picture.runs, heights)
    page.text(notes, color=LIGHT["quiet"])
    return figure


def _draw_history(page: _Page, picture: FlightPicture, labels: float) -> None:
    assert picture.history is not None
    page.text(_key(picture), color=LIGHT["quiet"])
    page.used += labels
    panels = []
    for tall in _PANELS:
        panels.append(page.axes(_LEFT, page.used, _WIDTH - _LEFT - _RIGHT, tall))
        page.used += tall + _GAP
    draw_history(panels, picture.history, picture.airspeed_name, _SMALL)
    spans = run_spans(picture)
    shade_legs(panels, spans, picture.other_legs)
    number_legs(panels[0], spans, picture.other_legs, _SMALL)
    page.used += 34.0


def _key(picture: FlightPicture) -> str:
    by_legs = any(run.legs for run in picture.runs)
    words = ["Shaded: legs of solved runs, with their numbers." if by_legs else "Shaded: solved."]
    if any(not leg.left_out for leg in picture.other_legs):
        words.append("Hatched: found, but not in a solved run.")
    if any(leg.left_out for leg in picture.other_legs):
        words.append("Crossed: left out by hand.")
    return " ".join(words)


def _vectors_key(runs: tuple[PicturedRun, ...]) -> str:
    circle = (
        "the true airspeed around the tip of the wind. Thick arrow: the wind, the way it blows."
    )
    if not any(run.legs for run in runs):
        return f"Dots: tips of the ground vectors, sample by sample. Circle:\n{circle}"
    return (
        "○ tip of the ground vector of a leg, with its number and its residual in kt, + where the "
        f"tip lies outside its circle; bars show\nthe residuals of all runs to one scale. Circle: "
        f"{circle}"
    )


def _draw_runs(page: _Page, runs: tuple[PicturedRun, ...], heights: list[float]) -> None:
    if not runs:
        return
    bar_points = bar_points_per_kt(runs)
    page.text(_vectors_key(runs), color=LIGHT["quiet"])
    page.used += 8.0
    across = (_WIDTH - 20.0) / _COLUMNS
    for place, run in enumerate(runs):
        row, column = divmod(place, _COLUMNS)
        heading, facts = run_words(run, _RUN_LETTERS)
        left = 10.0 + column * across
        page.figure.text(
            left / _WIDTH,
            1.0 - page.used / page.height,
            heading,
            va="top",
            fontweight="bold",
        )
        top = page.used + 1.6 * _TEXT
        draw_run(page.axes(left, top, across, _CIRCLE), run, bar_points, _SMALL)
        page.figure.text(
            left / _WIDTH,
            1.0 - (top + _CIRCLE + 2.0) / page.height,
            facts,
            va="top",
            fontsize=_SMALL,
            linespacing=_LINE,
        )
        if column == _COLUMNS - 1 or place == len(runs) - 1:
            page.used += heights[row]


def _wrapped(text: str) -> str:
    return "\n".join(textwrap.wrap(one_line(text), _LETTERS))


def _lines(text: str) -> float:
    return (text.count("\n") + 1) * _SMALL * _LINE


def _description(picture: FlightPicture) -> str:
    history = "Airspeed, altitude, track and ground speed against time. " if picture.history else ""
    runs = "; ".join(
        f"run {run.number} at {run.vic_kt:.1f} kt indicated: true airspeed {run.tas_kt:.1f} kt, "
        f"wind {run.wind_speed_kt:.1f} kt from {run.wind_from_deg:.0f} degrees"
        for run in picture.runs
    )
    return f"{history}Ground vectors, wind and circle of airspeed: {runs}. {SHORT_CAUTION}"
