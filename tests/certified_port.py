"""A static port that exists and is far off when slow: printed figures, and readings made of them.

Source: information manual of a certified four-seat trainer, model 172S, section 5, figure
5-1, airspeed calibration with the normal static source; printed to a knot. kappa reaches
0.63. The readings are worked out by the simulator's own air, not by the program's.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from seed_demo import air
from seed_demo.air import FT, KT

#: Indicated and calibrated airspeed, kt, by flap setting.
PRINTED: Final = {
    "up": (
        *((50, 56), (60, 62), (70, 70), (80, 78), (90, 87), (100, 97), (110, 107), (120, 117)),
        *((130, 127), (140, 137), (150, 147), (160, 157)),
    ),
    "10": ((40, 51), (50, 57), (60, 63), (70, 71), (80, 80), (90, 89), (100, 99), (110, 109)),
    "full": ((40, 50), (50, 56), (60, 63), (70, 72), (80, 81), (85, 86)),
}
POINTS: Final = tuple((flaps, *pair) for flaps, pairs in PRINTED.items() for pair in pairs)
SHEET: Final = "run,flaps,ias_kt,pressure_altitude_ft,oat_degc,ground_speed_kt,track_deg\n"


def kappa_of(ias_kt: float, cas_kt: float) -> float:
    """The error coefficient of a printed pair."""
    felt, free = air.dial_impact_pressure(np.array([ias_kt, cas_kt]) * KT)
    return float(free / felt - 1.0)


def legs(run: int, flaps: str, ias_kt: float, cas_kt: float) -> str:
    """Four legs of a box at 3000 ft, 9 degrees (ambient), wind 12 kt from 240 degrees."""
    ambient = 9.0 + air.ICE_POINT_K
    shown = np.array(3000.0 * FT)
    felt = air.dial_impact_pressure(np.array(ias_kt * KT))
    static = air.standard_pressure(shown) - kappa_of(ias_kt, cas_kt) * felt
    total = air.standard_pressure(shown) + felt
    tas = float(air.mach_number(total - static, static) * air.speed_of_sound(np.array(ambient)))
    rows = ""
    for heading in np.radians([20.0, 110.0, 200.0, 290.0]):
        east = tas / KT * np.sin(heading) + 12.0 * np.sin(np.radians(60.0))
        north = tas / KT * np.cos(heading) + 12.0 * np.cos(np.radians(60.0))
        track = np.degrees(np.arctan2(east, north)) % 360.0
        rows += f"{run},{flaps},{ias_kt:.0f},3000,9.0,{np.hypot(east, north):.1f},{track:.1f}\n"
    return rows
