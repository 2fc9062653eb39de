"""Tower fly-by: passing a reference of surveyed height at which the pressure is measured.

The pressure of the free stream at the aircraft follows from the pressure at the
reference and the height of the aircraft above it by the hydrostatic equation,
dp = -p g/(R T) dz, with the temperature that is really there. Sources: the
hydrostatic equation and its closed form for a linear temperature, ICAO Doc
7488; the method, Gracey, NASA RP-1046 (1980), chapter on calibration in flight.
Gravity is taken as standard, which errs by at most 0.3 % of the height.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    GRAVITY_MPS2,
    LAPSE_RATE_KPM,
    Array,
    altitude_from_pressure,
    require_between,
)
from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.position_error import kappa_from_altitudes
from fleetcal.airdata.techniques.propagation import Doubt, Inputs, propagated_terms
from fleetcal.airdata.techniques.technique_point import (
    Cockpit,
    TechniquePoint,
    instrument_doubts,
    technique_point,
)
from fleetcal.units import PA_PER_HPA


@dataclass(frozen=True, kw_only=True)
class TowerPass:
    """One pass at the reference.

    Attributes:
        reference_pressure_pa, reference_temperature_k: Measured at the reference at that time.
        height_m: Of the aircraft's altimeter above the reference; negative below.
        u_reference_pressure_pa, u_reference_temperature_k, u_survey_m: Of barometer, thermometer
            and surveyed height; shared by a sortie.
        u_sighting_m: Of sighting one pass.
    """

    cockpit: Cockpit
    reference_pressure_pa: float
    reference_temperature_k: float
    height_m: float
    u_reference_pressure_pa: float
    u_reference_temperature_k: float
    u_survey_m: float
    u_sighting_m: float


def pressure_at_height(
    reference_pressure_pa: npt.ArrayLike,
    reference_temperature_k: npt.ArrayLike,
    height_m: npt.ArrayLike,
) -> Array:
    """Return the pressure at a height above a reference.

    Args:
        reference_pressure_pa, reference_temperature_k (array_like, broadcastable): At the
            reference.
        height_m (array_like, broadcastable): Above the reference, -1,000 to 1,000 m: the
            temperature is taken to fall by 6.5 K/km from what it is there, which matters little
            over such heights.

    Returns:
        Broadcast shape: Pressure, Pa.

    Raises:
        OutOfRangeError: If a height or temperature is out of range.
    """
    height = require_between(height_m, -1000.0, 1000.0, "height above the reference", "m")
    temperature = require_between(reference_temperature_k, 200.0, 340.0, "temperature", "K")
    exponent = GRAVITY_MPS2 / (GAS_CONSTANT_JPKGK * LAPSE_RATE_KPM)
    ratio = np.exp(exponent * np.log1p(-LAPSE_RATE_KPM * height / temperature))
    return np.asarray(np.asarray(reference_pressure_pa, dtype=np.float64) * ratio)


def reduce_tower_fly_by(reading: TowerPass, assumptions: Assumptions) -> TechniquePoint:
    """Return the point that one pass at a tower gives.

    Raises:
        OutOfRangeError: If a reading is out of range.
    """
    inputs = {
        "airspeed": reading.cockpit.airspeed_mps,
        "altitude": reading.cockpit.altitude_m,
        "pressure": reading.reference_pressure_pa,
        "temperature": reading.reference_temperature_k,
        "height": reading.height_m,
    }
    pressure, survey = reading.u_reference_pressure_pa, reading.u_survey_m
    warmth, sighting = reading.u_reference_temperature_k, reading.u_sighting_m
    shown = f"{pressure / PA_PER_HPA:.2g} hPa"
    doubts = (
        Doubt(name="reference pressure", of="pressure", u=pressure, owner="sortie", note=shown),
        Doubt(
            name="reference temperature",
            of="temperature",
            u=warmth,
            owner="sortie",
            note=f"{warmth:.2g} K",
        ),
        Doubt(
            name="surveyed height", of="height", u=survey, owner="sortie", note=f"{survey:.2g} m"
        ),
        Doubt(
            name="sighted height",
            of="height",
            u=sighting,
            owner="point",
            note=f"{sighting:.2g} m a pass",
        ),
        *instrument_doubts(reading.cockpit, assumptions),
    )
    terms = propagated_terms(_kappa, inputs, doubts)
    return technique_point(reading.cockpit, _kappa(inputs), terms)


def _kappa(x: Inputs) -> float:
    free = pressure_at_height(x["pressure"], x["temperature"], x["height"])
    return float(kappa_from_altitudes(x["airspeed"], x["altitude"], altitude_from_pressure(free)))
