"""Legs written by hand on an invented flight of C-07: the README's example.

Headings 35, 125, 215 and 305 in a wind of 13 kt from 285, IAS 97 or 98 kt at
4500 ft and 8 degrees, a static port with kappa -0.035; by the relations of
`invented_sortie` that is 102 or 103 kt of true airspeed, and a correction of
-1.7 kt. The readings are rounded to whole knots and degrees.
"""

from __future__ import annotations

HEADINGS = "run,ias_kt,pressure_altitude_ft,oat_degc,ground_speed_kt,track_deg\n"
ROWS = ("97,4500,8,107,42\n", "98,4500,8,115,123\n", "98,4500,8,99,208\n", "97,4500,8,90,308\n")


def leg_sheet(*runs: int, legs: int = 4) -> str:
    """Return a sheet with the same legs for each run, run 1 if none is named."""
    return HEADINGS + "".join(f"{run},{row}" for run in runs or (1,) for row in ROWS[:legs])


def legs_of_day(day: str, *runs: int) -> str:
    """Return a sheet of another flight for each day, flown at another height; 2 May's is usual."""
    month, of_month = int(day[5:7]), int(day[8:])
    return leg_sheet(*runs).replace("4500", str(4500 + 1000 * (month - 5) + 100 * (of_month - 2)))
