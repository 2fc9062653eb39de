"""Figures that a program can go on with, from what a service hands on to be drawn."""

from __future__ import annotations

from fleetcal.publish.difference_figure import DifferencePicture
from fleetcal.publish.drawings import difference_drawing, flight_drawing, standing_drawing
from fleetcal.publish.flight_picture import FlightPicture
from fleetcal.publish.standing_figure import StandingPicture

__all__ = [
    "DifferencePicture",
    "FlightPicture",
    "StandingPicture",
    "difference_drawing",
    "flight_drawing",
    "standing_drawing",
]
