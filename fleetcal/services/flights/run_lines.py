"""Legs and runs as they are listed and stored, in the trade's units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar, Final

from fleetcal.airdata.budget import Term
from fleetcal.records import Leg, Point, names_of

#: What became of a leg.
SOLVED, REFUSED, LEFT_OUT = "solved", "refused", "left out"


@dataclass(frozen=True, kw_only=True)
class LegLine(Leg):
    """One leg as it is listed, with the ground speed and what became of it.

    Attributes:
        tas_kt: NaN for a leg that was not solved, like `u_kt`.
        residual_kt: None where three legs leave nothing over, and for a leg not solved.
        outcome: ``solved``, ``refused`` with its run, or ``left out`` by hand.
    """

    ground_speed_kt: float
    ground_east_kt: float
    ground_north_kt: float
    tas_kt: float
    outcome: str = SOLVED

    LISTED: ClassVar = (
        *("run", "leg", "start_s", "stop_s", "samples", "vic_kt", "pressure_altitude_ft"),
        *("oat_degc", "ground_speed_kt", "track_deg", "ground_east_kt", "ground_north_kt"),
        *("recovery_factor", "humidity_pct", "tas_kt", "residual_kt", "u_kt", "outcome"),
    )

    @property
    def run(self) -> int:
        """Number of its run within the flight."""
        return self.run_number

    @property
    def leg(self) -> int:
        """Number of the leg within the run."""
        return self.leg_number


#: What is printed of a run behind the column of the point that it belongs to.
_BEHIND: Final = {
    "number": (),
    "technique": (),
    "flap_setting": (),
    "weight_kg": (),
    "tas_kt": ("tas_kt", "tas_scale"),
    "u_kappa": ("u_kappa", "U95_kappa"),
    "u_dvpc_kt": ("u_dvpc_kt", "U95_dvpc_kt"),
    "u_dhpc_ft": ("u_dhpc_ft", "U95_dhpc_ft"),
}


@dataclass(frozen=True, kw_only=True)
class RunLine(Point):
    """One solved run, manoeuvre or airspeed: its point, and what a reduction shows besides.

    `u_x` is a standard uncertainty, `U95_x` the expanded one for 95 %: the
    factor of Student's t for the point's degrees of freedom (JCGM 100:2008,
    G.3 and G.4).

    Attributes:
        weight_kg: At the middle of the run, as weighed; NaN when no weight is known.
        U95_as_read_kt: Of `dvpc_kt` as the correction of what this indicator reads; `U95_dvpc_kt`
            is of the port alone.
        scatter_degrees_of_freedom: Of the part of u that rests on scatter; None where none does.
    """

    weight_kg: float = math.nan
    oat_degc: float
    tas_kt: float
    wind_speed_kt: float
    wind_from_deg: float
    terms: tuple[Term, ...]
    tas_scale: float
    U95_kappa: float
    U95_dvpc_kt: float
    U95_dhpc_ft: float
    load_factor: float = 1.0
    U95_as_read_kt: float | None = None
    scatter_degrees_of_freedom: float | None = None

    LISTED: ClassVar = (
        "run",
        *(shown for name in names_of(Point) for shown in _BEHIND.get(name, (name,))),
        *("terms", "load_factor", "weight_kg", "U95_as_read_kt", "scatter_degrees_of_freedom"),
    )

    @property
    def run(self) -> int:
        """Its number within the flight."""
        return self.number
