"""Trailing static source: a cone or bomb towed where the flow is undisturbed.

Either a gauge between the aircraft's static line and the trailing source shows
the error of the port directly, or an altimeter on the trailing source shows the
pressure altitude of the free stream. What the trailing source itself is wrong
by is a correction, added to it. Source of the method: Gracey, NASA RP-1046
(1980), chapter on calibration in flight.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.position_error import kappa_from_altitudes
from fleetcal.airdata.techniques.propagation import Doubt, Inputs, propagated_terms
from fleetcal.airdata.techniques.technique_point import (
    Cockpit,
    TechniquePoint,
    doubt_in,
    instrument_doubts,
    technique_point,
)


@dataclass(frozen=True, kw_only=True)
class TrailingGauge:
    """A gauge between the aircraft's static line and the trailing source.

    Attributes:
        difference_pa: Pressure of the port less pressure of the trailing source.
        correction_pa: Added to the pressure of the trailing source to give the free stream's.
        u_correction_pa, u_gauge_pa: Of the trailing source and of the gauge; shared by a sortie.
        u_reading_pa: Of one look.
    """

    cockpit: Cockpit
    difference_pa: float
    correction_pa: float
    u_correction_pa: float
    u_gauge_pa: float
    u_reading_pa: float


@dataclass(frozen=True, kw_only=True)
class TrailingAltimeter:
    """An altimeter on the trailing source.

    Attributes:
        altitude_m: Its reading at 1013.25 hPa.
        correction_m: Of trailing source and altimeter together, added to the reading.
        u_correction_m: Of that correction; shared by a sortie.
        u_reading_m: Of one look.
    """

    cockpit: Cockpit
    altitude_m: float
    correction_m: float
    u_correction_m: float
    u_reading_m: float


def reduce_trailing_static(
    reading: TrailingGauge | TrailingAltimeter, assumptions: Assumptions
) -> TechniquePoint:
    """Return the point that a trailing static source gives.

    Raises:
        OutOfRangeError: If a reading is out of range.
    """
    if isinstance(reading, TrailingGauge):
        return _by_gauge(reading, assumptions)
    return _by_altimeter(reading, assumptions)


def _by_gauge(r: TrailingGauge, assumptions: Assumptions) -> TechniquePoint:
    inputs = {
        "airspeed": r.cockpit.airspeed_mps,
        "altitude": r.cockpit.altitude_m,
        "difference": r.difference_pa - r.correction_pa,
    }

    def kappa(x: Inputs) -> float:
        return float(x["difference"] / impact_pressure_from_airspeed(x["airspeed"]))

    doubts = (
        Doubt(
            name="trailing source",
            of="difference",
            u=r.u_correction_pa,
            owner="sortie",
            note=_pa(r.u_correction_pa),
        ),
        Doubt(
            name="pressure gauge",
            of="difference",
            u=r.u_gauge_pa,
            owner="sortie",
            note=_pa(r.u_gauge_pa),
        ),
        Doubt(
            name="gauge reading",
            of="difference",
            u=r.u_reading_pa,
            owner="point",
            note=_pa(r.u_reading_pa),
        ),
        # a gauge needs no altimeter
        *(d for d in instrument_doubts(r.cockpit, assumptions) if d.of == "airspeed"),
    )
    return technique_point(r.cockpit, kappa(inputs), propagated_terms(kappa, inputs, doubts))


def _by_altimeter(r: TrailingAltimeter, assumptions: Assumptions) -> TechniquePoint:
    inputs = {
        "airspeed": r.cockpit.airspeed_mps,
        "altitude": r.cockpit.altitude_m,
        "true altitude": r.altitude_m + r.correction_m,
    }

    def kappa(x: Inputs) -> float:
        return float(kappa_from_altitudes(x["airspeed"], x["altitude"], x["true altitude"]))

    of = "true altitude"
    doubts = (
        doubt_in("ft", "trailing source", of, r.u_correction_m, "sortie"),
        doubt_in("ft", "trailing altitude reading", of, r.u_reading_m, "point"),
        *instrument_doubts(r.cockpit, assumptions),
    )
    return technique_point(r.cockpit, kappa(inputs), propagated_terms(kappa, inputs, doubts))


def _pa(u: float) -> str:
    return f"{u:.2g} Pa"
