"""What is read in the aircraft under test, and the point that follows from a kappa."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions, Owner, Term, combine
from fleetcal.airdata.instrument_tolerance import (
    airspeed_tolerance,
    altimeter_tolerance,
    u_or_tolerance,
)
from fleetcal.airdata.position_error import corrections
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.techniques.propagation import Doubt
from fleetcal.units import from_si


@dataclass(frozen=True, kw_only=True)
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


@dataclass(frozen=True, kw_only=True)
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
        doubt_in("kt", "airspeed indicator", "airspeed", airspeed, "airframe"),
        doubt_in("kt", "airspeed reading", "airspeed", look, "point"),
        doubt_in("ft", "altimeter", "altitude", altitude, "airframe"),
        doubt_in("ft", "altitude reading", "altitude", glance, "point"),
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
        airspeed_mps=cockpit.airspeed_mps,
        altitude_m=cockpit.altitude_m,
        temperature_k=cockpit.temperature_k,
        true_airspeed_mps=_true_airspeed(cockpit, kappa),
        kappa=kappa,
        u_kappa=u_kappa,
        degrees_of_freedom=freedom,
        dvpc_mps=float(moved.airspeed_mps),
        u_dvpc_mps=u_kappa * abs(float(moved.airspeed_per_kappa_mps)),
        dhpc_m=float(moved.altitude_m),
        u_dhpc_m=u_kappa * abs(float(moved.altitude_per_kappa_m)),
        terms=terms,
        remark=remark,
        reason=reason,
    )


def in_words(u: float, unit: str) -> str:
    """Return a standard uncertainty in SI as words in a unit of the trade."""
    return f"{from_si(u, unit):.3g} {unit}"


def doubt_in(unit: str, name: str, of: str, u: float, owner: Owner) -> Doubt:
    """Return a doubt about an input in SI whose size is told in a unit of the trade."""
    return Doubt(name=name, of=of, u=u, owner=owner, note=in_words(u, unit))


def _true_airspeed(cockpit: Cockpit, kappa: float) -> float | None:
    if cockpit.temperature_k is None:
        return None
    readings = Readings(
        airspeed_mps=np.array([cockpit.airspeed_mps]),
        altitude_m=np.array([cockpit.altitude_m]),
        temperature_k=np.array([cockpit.temperature_k]),
        recovery_factor=np.array([cockpit.recovery_factor]),
        relative_humidity=np.array([cockpit.relative_humidity]),
    )
    return float(readings.true_airspeed(kappa)[0][0])
