"""Legs and runs as they are listed and stored, in the trade's units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fleetcal.airdata.budget import Term
from fleetcal.records import Leg

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


@dataclass(frozen=True, kw_only=True)
class RunLine:
    """One solved run, or manoeuvre.

    `u_x` is a standard uncertainty, `U95_x` the expanded one for 95 %: the
    factor of Student's t for the point's degrees of freedom (JCGM 100:2008,
    G.3 and G.4). A run that must not count says why in `reason` and has
    `accepted` False.

    Attributes:
        leg_count: None for a manoeuvre.
        residual_kt: Root of the mean square a spare leg; None where there is none.
        weight_kg: At the middle of the run; None when no weight is known.
        U95_as_read_kt: Of `dvpc_kt` as the correction of what this indicator reads; `U95_dvpc_kt`
            is of the port alone.
        scatter_degrees_of_freedom: Of the part of u that rests on scatter; None where none does.
    """

    run: int
    vic_kt: float
    pressure_altitude_ft: float
    oat_degc: float
    tas_kt: float
    tas_scale: float
    kappa: float
    u_kappa: float
    U95_kappa: float
    dvpc_kt: float
    u_dvpc_kt: float
    U95_dvpc_kt: float
    dhpc_ft: float
    u_dhpc_ft: float
    U95_dhpc_ft: float
    wind_speed_kt: float
    wind_from_deg: float
    leg_count: int | None
    largest_gap_deg: float
    residual_kt: float | None
    duration_s: float
    degrees_of_freedom: float
    accepted: bool
    reason: str
    terms: tuple[Term, ...]
    load_factor: float = 1.0
    weight_kg: float | None = None
    U95_as_read_kt: float | None = None
    scatter_degrees_of_freedom: float | None = None
