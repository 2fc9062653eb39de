"""Figures as drawings that a program can go on with, in the style of the published ones."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from fleetcal.publish.difference_figure import DifferencePicture, draw_difference
from fleetcal.publish.drawing_file import drawing_style, glyphs_may_be_missing
from fleetcal.publish.figure import draw_correction
from fleetcal.publish.figure_layout import WIDE
from fleetcal.publish.flight_figure import draw_flight
from fleetcal.publish.flight_picture import FlightPicture
from fleetcal.publish.pooled_table import PooledTable, in_own_unit
from fleetcal.publish.standing_figure import StandingPicture, draw_standings

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TEXT: Final = 10.0


@contextmanager
def _our_style() -> Iterator[None]:
    import matplotlib.style

    style = drawing_style("drawing", _TEXT)
    with matplotlib.style.context(["default", style]), glyphs_may_be_missing():
        yield


def correction_drawing(table: PooledTable) -> Figure:
    """Draw a correction against airspeed."""
    with _our_style():
        return draw_correction(in_own_unit(table), WIDE)


def difference_drawing(picture: DifferencePicture) -> Figure:
    """Draw two curves compared."""
    with _our_style():
        return draw_difference(picture)


def flight_drawing(picture: FlightPicture) -> Figure:
    """Draw what was found in a flight."""
    with _our_style():
        return draw_flight(picture)


def standing_drawing(pictures: tuple[StandingPicture, ...]) -> Figure:
    """Draw where an airframe stands, in each group that it flew in."""
    with _our_style():
        return draw_standings(pictures)
