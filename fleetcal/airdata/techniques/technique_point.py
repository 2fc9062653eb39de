"""What is read in the aircraft under test, and the point that follows from a kappa."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions, Term, combine
from fleetcal.airdata.instrument_tolerance import (
    airspeed_tolerance,
    altimeter_tolerance,
    u_or_tolerance,
)
from fleetcal.airdata.position_error import corrections
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.techniques.propagation import Doubt
from fleetcal.units import from_si


@dataclass(frozen=True)
class Cockpit:
    """Readings in the aircraft under test, after the instruments' bench corrections.

    Attributes:
        airspeed_mps, altitude_m: Vic and Hic (1013.25 hPa set).
        u_airspeed_reading_mps, u_altitude_reading_m: Of reading the pointer once, by eye.
        temperature_k: Probe temperature.
        recovery_factor: Of the probe; 0 where the temperature is already ambient.
        relative_humidity: Of the air, 1 at saturation.
    """

    airspeed_mps: float
    altitude_m: float
    u_airspeed_reading_mps: float
    u_altitude_reading_m: float
    temperature_k: float | None = None
    recovery_factor: float = 0.0
    relative_humidity: float = 0.0


@dataclass(frozen=True)
class TechniquePoint:
    """One calibration point, SI.

    Attributes:
        airspeed_mps, altitude_m, temperature_k: Vic, Hic and probe temperature (None if not read).
        true_airspeed_mps: When the temperature is known.
        dvpc_mps, u_dvpc_mps, dhpc_m, u_dhpc_m: Position corrections, added to the reading.
        remark: What else the readings say.
        reason: Why the point must not be accepted; empty if nothing speaks against it.
    """

    airspeed_mps: float
    altitude_m: float
    temperature_k: float | None
    true_airspeed_mps: float | None
    kappa: float
    u_kappa: float
    degrees_of_freedom: float
    dvpc_mps: float
    u_dvpc_mps: float
    dhpc_m: float
    u_dhpc_m: float
    terms: tuple[Term, ...]
    remark: str = ""
    reason: str = ""


def instrument_doubts(cockpit: Cockpit, assumptions: Assumptions) -> tuple[Doubt, ...]:
    """Return the doubts about Vic and Hic.

    Args:
        assumptions: What is left after the bench corrections; the airframe's.

    Returns:
        Of the inputs ``airspeed`` and ``altitude``.
    """
    airspeed = float(
        u_or_tolerance(assumptions.u_airspeed_mps, airspeed_tolerance(cockpit.airspeed_mps))
    )
    altitude = float(
        u_or_tolerance(assumptions.u_altitude_m, altimeter_tolerance(cockpit.altitude_m))
    )
    look, glance = cockpit.u_airspeed_reading_mps, cockpit.u_altitude_reading_m
    return (
        Doubt("airspeed indicator", "airspeed", airspeed, "airframe", in_words(airspeed, "kt")),
        Doubt("airspeed reading", "airspeed", look, "point", in_words(look, "kt")),
        Doubt("altimeter", "altitude", altitude, "airframe", in_words(altitude, "ft")),
        Doubt("altitude reading", "altitude", glance, "point", in_words(glance, "ft")),
    )


def technique_point(
    cockpit: Cockpit, kappa: float, terms: tuple[Term, ...], remark: str = "", reason: str = ""
) -> TechniquePoint:
    """Return the point that a measured kappa makes.

    Raises:
        OutOfRangeError: If an airspeed or altitude is out of range.
    """
    u_kappa, freedom = combine(terms)
    moved = corrections(cockpit.airspeed_mps, cockpit.altitude_m, kappa)
    return TechniquePoint(
        cockpit.airspeed_mps,
        cockpit.altitude_m,
        cockpit.temperature_k,
        _true_airspeed(cockpit, kappa),
        kappa,
        u_kappa,
        freedom,
        float(moved.airspeed_mps),
        u_kappa * abs(float(moved.airspeed_per_kappa_mps)),
        float(moved.altitude_m),
        u_kappa * abs(float(moved.altitude_per_kappa_m)),
        terms,
        remark,
        reason,
    )


def in_words(u: float, unit: str) -> str:
    """Return a standard uncertainty in SI as words in a unit of the trade."""
    return f"{from_si(u, unit):.3g} {unit}"


def _true_airspeed(cockpit: Cockpit, kappa: float) -> float | None:
    if cockpit.temperature_k is None:
        return None
    readings = Readings(
        np.array([cockpit.airspeed_mps]),
        np.array([cockpit.altitude_m]),
        np.array([cockpit.temperature_k]),
        np.array([cockpit.recovery_factor]),
        np.array([cockpit.relative_humidity]),
    )
    return float(readings.true_airspeed(kappa)[0][0])
