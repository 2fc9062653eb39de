"""Speed course: timed passes over a known distance, one each way.

Heading, not track, is held along the course and the aircraft drifts with the
crosswind. Each pass then shows true airspeed plus or minus the wind along the
course, so the mean of the two ground speeds (not the distance over the mean
time) is the true airspeed exactly, as long as the wind stays. Source of the
method: FAA AC 23-8B, appendix 9 (speed course; the wording is from memory).
A heading two degrees off the course costs 0.06 % of true airspeed, which is
left out of the budget.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    Array,
    pressure_from_altitude,
    speed_of_sound,
)
from fleetcal.airdata.budget import Assumptions, Term
from fleetcal.airdata.humidity import virtual_temperature
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed, pressure_ratio_from_mach
from fleetcal.airdata.techniques.propagation import (
    Doubt,
    Inputs,
    mean_terms,
    propagated_terms,
)
from fleetcal.airdata.techniques.technique_point import (
    Cockpit,
    TechniquePoint,
    in_words,
    instrument_doubts,
    technique_point,
)
from fleetcal.units import MPS_PER_KT

_ROUNDS: Final = 4
#: Time lost in turning back between two passes, s (common practice, no published source).
TURN_S: Final = 90.0


@dataclass(frozen=True, kw_only=True)
class CoursePair:
    """Two passes over the course, one each way.

    Attributes:
        cockpit: Mean readings of both passes, with the temperature.
        u_distance_m, u_time_s: Of the course, shared by a sortie, and of timing one pass.
    """

    cockpit: Cockpit
    distance_m: float
    time_out_s: float
    time_back_s: float
    u_distance_m: float
    u_time_s: float


def course_true_airspeed(
    distance_m: npt.ArrayLike, time_out_s: npt.ArrayLike, time_back_s: npt.ArrayLike
) -> Array:
    """Return the mean of the ground speeds out and back.

    Args:
        distance_m, time_out_s, time_back_s: Broadcastable with one another.

    Returns:
        Broadcast shape: True airspeed, m/s.
    """
    distance, out, back = (
        np.asarray(x, dtype=np.float64) for x in (distance_m, time_out_s, time_back_s)
    )
    return np.asarray((distance / out + distance / back) / 2.0)


def kappa_from_true_airspeed(
    airspeed_mps: npt.ArrayLike,
    altitude_m: npt.ArrayLike,
    temperature_k: npt.ArrayLike,
    recovery_factor: npt.ArrayLike,
    true_airspeed_mps: npt.ArrayLike,
    relative_humidity: npt.ArrayLike = 0.0,
) -> Array:
    """Return kappa from readings and the true airspeed, in closed form.

    Args:
        airspeed_mps, altitude_m, temperature_k, recovery_factor (array_like, broadcastable): Vic,
            Hic, probe temperature and its recovery factor.
        true_airspeed_mps (array_like, broadcastable): Vt, m/s.
        relative_humidity (array_like, broadcastable): Of the air, 1 at saturation; dry air if left
            out.

    Returns:
        Broadcast shape.

    Raises:
        OutOfRangeError: If a reading or the Mach number is out of range.

    The total-temperature relation solved for the ambient temperature is
    T = Tt - K Vt^2/(7 R); Mach number and pt/ps follow, and pt is what the pitot
    delivers whatever the port does (Gracey, NASA RP-1046, 1980). The share of vapour
    depends on the pressure that is looked for, so weakly that a few rounds give it to
    the last digit.
    """
    true = np.asarray(true_airspeed_mps, dtype=np.float64)
    rise = np.asarray(recovery_factor) * true**2 / (7.0 * GAS_CONSTANT_JPKGK)
    ambient = np.asarray(temperature_k, dtype=np.float64) - rise
    felt, impact = pressure_from_altitude(altitude_m), impact_pressure_from_airspeed(airspeed_mps)
    free = felt
    for _ in range(_ROUNDS):
        warmth = virtual_temperature(ambient, free, relative_humidity)
        mach = true / speed_of_sound(warmth)
        free = (felt + impact) / (1.0 + pressure_ratio_from_mach(mach))
    return np.asarray((felt - free) / impact)


def reduce_speed_course(pairs: Sequence[CoursePair], assumptions: Assumptions) -> TechniquePoint:
    """Return the point that pairs of passes at one airspeed give.

    Args:
        pairs: One or more; each cockpit must have its temperature.
        assumptions: `u_wind_mps` is taken for each pass.

    Returns:
        kappa is the mean over the pairs. With two pairs or more their scatter is joined to the
        supposed change of wind, which counts like `prior_weight` spare pairs.

    Raises:
        OutOfRangeError: If a reading is out of range.
    """
    inputs = [_inputs(pair) for pair in pairs]
    kappas = np.array([_kappa(x) for x in inputs])
    each = [
        propagated_terms(_kappa, x, _doubts(pair, assumptions))
        for pair, x in zip(pairs, inputs, strict=True)
    ]
    slopes = np.array([_by_true_airspeed(x) for x in inputs])
    terms = (
        _wind_scatter(kappas, slopes, each, assumptions),
        _wind_drift(pairs, slopes, assumptions),
        *mean_terms(each),
    )
    middle = _mean_cockpit([pair.cockpit for pair in pairs])
    return technique_point(middle, float(kappas.mean()), terms, _remark(kappas))


def _inputs(pair: CoursePair) -> dict[str, float]:
    cockpit = pair.cockpit
    assert cockpit.temperature_k is not None  # asked for by the docstring
    return {
        "airspeed": cockpit.airspeed_mps,
        "altitude": cockpit.altitude_m,
        "temperature": cockpit.temperature_k,
        "recovery": cockpit.recovery_factor,
        "humidity": cockpit.relative_humidity,
        "distance": pair.distance_m,
        "out": pair.time_out_s,
        "back": pair.time_back_s,
        "wind": 0.0,
    }


def _kappa(x: Inputs) -> float:
    true = course_true_airspeed(x["distance"], x["out"], x["back"]) + x["wind"]
    return float(
        kappa_from_true_airspeed(
            x["airspeed"],
            x["altitude"],
            x["temperature"],
            recovery_factor=x["recovery"],
            true_airspeed_mps=true,
            relative_humidity=x["humidity"],
        )
    )


def _by_true_airspeed(x: Inputs) -> float:
    step = 1e-3
    return (_kappa({**x, "wind": step}) - _kappa({**x, "wind": -step})) / (2.0 * step)


def _doubts(pair: CoursePair, assumptions: Assumptions) -> tuple[Doubt, ...]:
    time, warmth, length = pair.u_time_s, assumptions.u_temperature_k, pair.u_distance_m
    moist, owner = assumptions.u_humidity, assumptions.recovery_owner
    recovery = assumptions.u_recovery_factor if pair.cockpit.recovery_factor else 0.0
    return (
        Doubt(name="timing", of="out", u=time, owner="point", note=f"{time:.2g} s a pass"),
        Doubt(name="timing", of="back", u=time, owner="point"),
        Doubt(
            name="course distance", of="distance", u=length, owner="sortie", note=f"{length:.3g} m"
        ),
        Doubt(
            name="outside-air temperature",
            of="temperature",
            u=warmth,
            owner="airframe",
            note=f"{warmth:.3g} K",
        ),
        Doubt(
            name="recovery factor", of="recovery", u=recovery, owner=owner, note=f"{recovery:.2g}"
        ),
        Doubt(
            name="humidity",
            of="humidity",
            u=moist,
            owner="sortie",
            note=f"{100.0 * moist:.0f} % relative humidity",
        ),
        *instrument_doubts(pair.cockpit, assumptions),
    )


def _wind_scatter(
    kappas: Array, slopes: Array, each: Sequence[Sequence[Term]], assumptions: Assumptions
) -> Term:
    """Return what a changing wind leaves in the mean, from what was supposed and what was seen."""
    spare = len(kappas) - 1
    supposed = float(np.mean(slopes**2)) * assumptions.u_wind_mps**2 / 2.0
    own = np.mean([sum(t.u_kappa**2 for t in terms if t.owner == "point") for terms in each])
    seen = float(np.sum((kappas - kappas.mean()) ** 2)) - spare * float(own)
    weight = assumptions.prior_weight
    variance = (weight * supposed + max(seen, 0.0)) / (weight + spare)
    return Term(
        name="wind between passes",
        u_kappa=float(np.sqrt(variance / len(kappas))),
        owner="point",
        kind="A",
        degrees_of_freedom=weight + spare,
        note=f"{in_words(assumptions.u_wind_mps, 'kt')} a pass supposed, {spare} spare pairs",
    )


def _wind_drift(pairs: Sequence[CoursePair], slopes: Array, assumptions: Assumptions) -> Term:
    """Return what a steady change of wind does: it has one sign in every pair flown alike."""
    apart = np.array([(pair.time_out_s + pair.time_back_s) / 2.0 + TURN_S for pair in pairs])
    effect = float(np.mean(slopes * apart / 2.0)) * assumptions.u_wind_drift_mps2
    rate = assumptions.u_wind_drift_mps2 * 600.0 / MPS_PER_KT
    note = f"{rate:.2f} kt in ten minutes, {TURN_S:.0f} s for the turn"
    return Term(name="wind drift", u_kappa=effect, owner="point", kind="B", note=note)


def _mean_cockpit(cockpits: Sequence[Cockpit]) -> Cockpit:
    def mean(values: Sequence[float | None]) -> float:
        return float(np.mean([v for v in values if v is not None]))

    return replace(
        cockpits[0],
        airspeed_mps=mean([c.airspeed_mps for c in cockpits]),
        altitude_m=mean([c.altitude_m for c in cockpits]),
        temperature_k=mean([c.temperature_k for c in cockpits]),
        relative_humidity=mean([c.relative_humidity for c in cockpits]),
    )


def _remark(kappas: Array) -> str:
    if len(kappas) < 2:
        return "one pair of passes: nothing shows whether the wind changed"
    return f"{len(kappas)} pairs of passes, kappa {kappas.min():+.4f} to {kappas.max():+.4f}"
