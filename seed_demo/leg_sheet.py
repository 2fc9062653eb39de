"""A leg sheet as a pilot writes it: one line a leg, read off the instruments in mid-leg."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from seed_demo.air import FT, ICE_POINT_K, KT
from seed_demo.flight import Flight

Samples = npt.NDArray[np.intp]

LOOKS_FOR_S: Final = 20
HEADINGS: Final = (
    "run",
    "leg",
    "IAS (kt)",
    "pressure altitude (ft)",
    "OAT (degC)",
    "ground speed (kt)",
    "track (deg true)",
)


def legs_of(flight: Flight) -> list[tuple[int, int, Samples]]:
    """Return box number, leg number and sample numbers of every leg as it was meant."""
    box, leg = flight.profile.box, flight.profile.leg
    spans: list[tuple[int, int, Samples]] = []
    for b in range(int(box.max()) + 1):
        for n in range(int(leg[box == b].max()) + 1):
            spans.append((b, n, np.flatnonzero((box == b) & (leg == n))))
    return spans


def _line(flight: Flight, box: int, leg: int, samples: Samples) -> str:
    middle = samples[samples.size // 2 - LOOKS_FOR_S // 2 : samples.size // 2 + LOOKS_FOR_S // 2]
    east, north = flight.gps_east[middle].mean(), flight.gps_north[middle].mean()
    ias_kt = flight.indicated_airspeed[middle].mean() / KT
    altitude_ft = flight.indicated_altitude[middle].mean() / FT
    oat_degc = flight.probe_temperature[middle].mean() - ICE_POINT_K
    track_deg = round(float(np.degrees(np.arctan2(east, north)))) % 360
    cells = (
        f"{box + 1}",
        f"{leg + 1}",
        f"{ias_kt:.0f}",
        f"{round(altitude_ft / 20.0) * 20}",
        f"{oat_degc:.0f}",
        f"{np.hypot(east, north) / KT:.0f}",
        f"{track_deg}",
    )
    return ",".join(cells)


def leg_sheet_text(flight: Flight) -> str:
    """Return the leg sheet of a flight: whole knots, degrees and degrees Celsius, 20 ft."""
    lines = [_line(flight, box, leg, samples) for box, leg, samples in legs_of(flight)]
    return "\n".join((",".join(HEADINGS), *lines)) + "\n"
