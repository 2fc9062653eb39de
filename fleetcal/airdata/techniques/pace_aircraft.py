"""Pace aircraft: two aircraft side by side, one of them with a known calibration.

Side by side, at rest against each other and outside each other's flow, both
have one calibrated airspeed and one pressure altitude. The pace aircraft's
readings with its own corrections give both for the aircraft under test. Source
of the method: FAA AC 23-8B, appendix 9 (pace aircraft; the wording is from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.budget import Assumptions, Term, combine
from fleetcal.airdata.position_error import kappa_from_airspeeds, kappa_from_altitudes
from fleetcal.airdata.techniques.propagation import (
    Doubt,
    Inputs,
    propagated_terms,
    weighted_terms,
)
from fleetcal.airdata.techniques.technique_point import (
    Cockpit,
    TechniquePoint,
    doubt_in,
    instrument_doubts,
    technique_point,
)

#: Airspeeds and altimeters that disagree by more than this many times the standard
#: uncertainty of their difference make a point that is kept but not accepted.
LARGEST_DISAGREEMENT: Final = 3.0


@dataclass(frozen=True, kw_only=True)
class PaceAltimeter:
    """The pace aircraft's altimeter, noted at the same moment.

    Attributes:
        altitude_m, correction_m: Reading at 1013.25 hPa, and all that is to be added to it.
        u_calibration_m: Of the correction; shared by a sortie.
        u_reading_m, u_station_m: Of one look, and of the heights kept equal.
    """

    altitude_m: float
    correction_m: float
    u_calibration_m: float
    u_reading_m: float
    u_station_m: float


@dataclass(frozen=True, kw_only=True)
class PaceReadings:
    """Both aircraft at one moment.

    Attributes:
        cockpit: Of the aircraft under test.
        airspeed_mps, correction_mps: The pace aircraft's indicated airspeed, and all that is to be
            added to it.
        u_calibration_mps: Of that correction; shared by a sortie.
        u_reading_mps, u_station_mps: Of one look, and of the speeds kept equal.
    """

    cockpit: Cockpit
    airspeed_mps: float
    correction_mps: float
    u_calibration_mps: float
    u_reading_mps: float
    u_station_mps: float
    altimeter: PaceAltimeter | None = None


def reduce_pace_aircraft(readings: PaceReadings, assumptions: Assumptions) -> TechniquePoint:
    """Return the point that a pace aircraft gives.

    Returns:
        With both altimeters noted, kappa is the mean of what the airspeeds and what the altimeters
        say, weighted by their joint covariance (no negative weights); the remark tells both, and a
        contradiction becomes the reason not to accept the point.

    Raises:
        OutOfRangeError: If a reading is out of range.
    """
    inputs = _inputs(readings)
    own = instrument_doubts(readings.cockpit, assumptions)
    kappa = _by_airspeed(inputs)
    speeds = (*_airspeed_doubts(readings), *(d for d in own if d.of == "airspeed"))
    terms = propagated_terms(_by_airspeed, inputs, speeds)
    if readings.altimeter is None:
        return technique_point(readings.cockpit, kappa, terms)
    other = _by_altitude(inputs)
    doubts = (*_altimeter_doubts(readings.altimeter), *own)
    other_terms = propagated_terms(_by_altitude, inputs, doubts)
    weight = best_weight(terms, other_terms)
    return technique_point(
        readings.cockpit,
        weight * kappa + (1.0 - weight) * other,
        weighted_terms(terms, other_terms, weight),
        *_consistency(kappa, other, weighted_terms(terms, _negative(other_terms), 0.5), weight),
    )


def best_weight(first: tuple[Term, ...], second: tuple[Term, ...]) -> float:
    """Return the weight of the first of two values that makes their mean most certain.

    Args:
        first, second: A name in both is one and the same input.

    Returns:
        Between 0 and 1.
    """
    u_first, u_second = combine(first)[0], combine(second)[0]
    effects = {t.name: t.u_kappa for t in second}
    common = sum(t.u_kappa * effects.get(t.name, 0.0) for t in first)
    spread = u_first**2 + u_second**2 - 2.0 * common
    if spread <= 0.0:
        return 0.5
    return float(np.clip((u_second**2 - common) / spread, 0.0, 1.0))


def _inputs(readings: PaceReadings) -> dict[str, float]:
    cockpit, altimeter = readings.cockpit, readings.altimeter
    inputs = {
        "airspeed": cockpit.airspeed_mps,
        "altitude": cockpit.altitude_m,
        "calibrated": readings.airspeed_mps + readings.correction_mps,
    }
    if altimeter is not None:
        inputs["true altitude"] = altimeter.altitude_m + altimeter.correction_m
    return inputs


def _by_airspeed(x: Inputs) -> float:
    return float(kappa_from_airspeeds(x["airspeed"], x["calibrated"]))


def _by_altitude(x: Inputs) -> float:
    return float(kappa_from_altitudes(x["airspeed"], x["altitude"], x["true altitude"]))


def _airspeed_doubts(r: PaceReadings) -> tuple[Doubt, ...]:
    of, unit = "calibrated", "kt"
    return (
        doubt_in(unit, "pace aircraft calibration", of, r.u_calibration_mps, "sortie"),
        doubt_in(unit, "pace airspeed reading", of, r.u_reading_mps, "point"),
        doubt_in(unit, "station keeping, speed", of, r.u_station_mps, "point"),
    )


def _altimeter_doubts(r: PaceAltimeter) -> tuple[Doubt, ...]:
    of, unit = "true altitude", "ft"
    return (
        doubt_in(unit, "pace altimeter calibration", of, r.u_calibration_m, "sortie"),
        doubt_in(unit, "pace altitude reading", of, r.u_reading_m, "point"),
        doubt_in(unit, "station keeping, height", of, r.u_station_m, "point"),
    )


def _negative(terms: tuple[Term, ...]) -> tuple[Term, ...]:
    return tuple(
        Term(name=t.name, u_kappa=-t.u_kappa, owner=t.owner, kind=t.kind, note=t.note)
        for t in terms
    )


def _consistency(
    kappa: float, other: float, half_difference: tuple[Term, ...], weight: float
) -> tuple[str, str]:
    """Return what both say in words, and the reason not to accept a contradiction."""
    u_difference = 2.0 * combine(half_difference)[0]
    times = abs(kappa - other) / u_difference
    comparison = (
        f"kappa {kappa:+.4f} by the airspeeds, {other:+.4f} by the altimeters: apart by "
        f"{times:.1f} times the standard uncertainty of the difference"
    )
    if times > LARGEST_DISAGREEMENT:
        return comparison, f"airspeeds and altimeters contradict each other; {comparison}"
    return f"{comparison}; airspeeds weighted {100.0 * weight:.0f} %", ""
