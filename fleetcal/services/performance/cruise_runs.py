"""Level runs at a known power as the points of a pooled fit.

x is 4 (Vs/VIW)^4 and y the power coefficient PIW (Vs/VIW)^3, which a parabolic
polar makes a straight line;
basis, spread, bands and verdicts of the fleet room then serve as they are. What
doubts a run is brought to its distance from that line.

Vs is half the median VIW flown. A display or chart errs alike in all runs of an airframe,
which nothing tells from drag of its own: in a pairing it is left to the spread between
aircraft, for one airframe alone all its runs share it. Counted as a term of the sortie
beside the spread, the band of six aircraft held in 99 to 100 % of simulated fleets; this
way it holds in 93 to 95 % (`python -m tests.fleet.simulations cruise`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    SEA_LEVEL_DENSITY_KGM3,
    SEA_LEVEL_TEMPERATURE_K,
    Array,
)
from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.performance.generalised_power import (
    LevelFlight,
    chart_power_of_the_day,
    doubt_of_coefficient,
)
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.fleet.points import FleetPoints, Index
from fleetcal.records import GPS_LEGS, GPS_MANOEUVRE, STANDARD_AIR
from fleetcal.store import CruiseRow, StoredPoint
from fleetcal.units import M_PER_FT, MPS_PER_KT, ZERO_DEGC_K

#: Standard uncertainty of a power as it was noted, in % of rated power: an error of the display
#: or chart that all runs of an airframe share. Common practice, no published source.
U_POWER_PCT: Final = 3.0
#: Of setting and reading it at each run for itself; common practice, no published source.
U_READING_PCT: Final = 1.0
#: Of a weight, as a share of it; common practice, no published source.
U_WEIGHT: Final = 0.015
#: Techniques whose true airspeed is measured and does not follow from the airspeed indicator.
MEASURED: Final = (GPS_LEGS, GPS_MANOEUVRE, "speed course")
#: How far the temperature noted may lie from the one that true airspeed and Mach number ask for:
#: more than any recovery factor and any humidity make at these speeds, K.
_LARGEST_APART_K: Final = 8.0
#: Change of density for each metre of altitude, as a share: about g/(R T) less the lapse.
_DENSITY_PER_M: Final = 1.0e-4


@dataclass(frozen=True, kw_only=True)
class CruiseRuns:
    """Level runs as arrays.

    Attributes:
        flight: Power as a share of rated power in the air of the day, true airspeed in kt.
        u_power (runs,): Shared by all runs of an airframe, relative.
        u_reading, u_tas (runs,): Of the run alone, relative.
        u_temperature (runs,): Shared by a sortie, relative, signed.
        charted (runs,): 1 where the power was worked out from a chart and the temperature, else 0.
        sortie, aircraft: Shape (runs,).
        group_of: Shape (aircraft,).
    """

    flight: LevelFlight
    u_power: Array
    u_reading: Array
    u_tas: Array
    u_temperature: Array
    charted: Array
    sortie: Index
    aircraft: Index
    group_of: Index


@dataclass(frozen=True, kw_only=True)
class AirOfRun:
    """What one run was flown in, and how well its true airspeed is known.

    Attributes:
        altitude_ft: Pressure altitude with the position error taken out.
        temperature_k: That makes the Mach number the true airspeed: the virtual one, whatever the
            humidity, so that density follows from it as in dry air.
        u_tas: Relative standard uncertainty of the true airspeed.
        u_temperature: Relative standard uncertainty of the temperature, signed.
    """

    altitude_ft: float
    temperature_k: float
    sigma: float
    u_tas: float
    u_temperature: float


def air_of_run(row: StoredPoint) -> AirOfRun:
    """Return the air that a run was flown in.

    Ground vectors give the true airspeed whatever the airspeed indicator shows, so
    only the run's own terms of the budget doubt it; what the doubt about the
    thermometer makes of kappa tells how large that doubt was taken.

    Args:
        row: With a true airspeed.
    """
    assert row.tas_kt is not None
    reading = Readings(
        airspeed_mps=np.array(row.vic_kt * MPS_PER_KT),
        altitude_m=np.array(row.pressure_altitude_ft * M_PER_FT),
        temperature_k=np.array(SEA_LEVEL_TEMPERATURE_K),
        recovery_factor=np.array(0.0),
    )
    static, impact = reading.pressures()
    kappa = np.array(row.kappa)
    warm = np.array(SEA_LEVEL_TEMPERATURE_K)
    at_standard, slope = true_airspeed_for(static, impact, warm, np.array(0.0), kappa)
    tas = row.tas_kt * MPS_PER_KT
    ratio = tas / float(at_standard)
    temperature = SEA_LEVEL_TEMPERATURE_K * ratio**2
    pressure = float(static - kappa * impact)
    leverage = float(slope) * ratio / tas
    others = sum(t.u_kappa**2 for t in row.terms if t.owner != "point")
    own = np.sqrt(max(row.u_kappa**2 - others, (0.1 * row.u_kappa) ** 2))
    known = [t.u_kappa for t in row.terms if t.owner != "point" and t.name in _WARMTH]
    doubt = -2.0 * leverage * float(np.sqrt(np.sum(np.square(known))) * np.sign(sum(known)))
    return AirOfRun(
        altitude_ft=row.pressure_altitude_ft + row.dhpc_ft,
        temperature_k=temperature,
        sigma=pressure / (GAS_CONSTANT_JPKGK * temperature) / SEA_LEVEL_DENSITY_KGM3,
        u_tas=leverage * float(own),
        u_temperature=doubt or -Assumptions().u_temperature_k / temperature,
    )


_WARMTH: Final = ("outside-air temperature", "recovery factor", "humidity")


def why_not(run: CruiseRow) -> str:
    """Return why a run cannot be used for cruise, empty if it can."""
    row = run.point
    if not row.accepted:
        return f"not accepted: {row.reason}"
    if row.barred:
        return row.barred
    if run.power.doubt:
        return f"its power is doubtful: {run.power.doubt}"
    if row.tas_kt is None or row.technique not in MEASURED:
        return "its true airspeed was not measured over the ground"
    warm = air_of_run(row).temperature_k
    if row.oat_degc is None:
        return "" if 200.0 < warm < 340.0 else "its true airspeed contradicts its airspeed"
    if abs(warm - row.oat_degc - ZERO_DEGC_K) > _LARGEST_APART_K:
        return "its true airspeed contradicts its airspeed and temperature"
    return ""


def cruise_runs(
    rows: Sequence[CruiseRow],
    reference_weight_kg: float,
    aircraft: Sequence[int],
    group_of: Sequence[int],
) -> CruiseRuns:
    """Turn stored runs into arrays.

    Args:
        rows: That `why_not` has nothing against.
        aircraft: Of each run, numbered from 0.
        group_of: Of each aircraft, numbered from 0.
    """
    air = [air_of_run(row.point) for row in rows]
    noted = np.array([row.power.power_pct for row in rows])
    charted = np.array([float(row.power.basis == STANDARD_AIR) for row in rows])
    heights = np.array([one.altitude_ft for one in air]) * M_PER_FT
    warm = np.array([one.temperature_k for one in air])
    power = np.where(charted > 0.0, chart_power_of_the_day(noted, heights, warm), noted)
    flight = LevelFlight(
        power / 100.0,
        np.array([row.point.tas_kt for row in rows], dtype=np.float64),
        np.array([one.sigma for one in air]),
        np.array([row.point.weight_kg for row in rows]) / reference_weight_kg,
    )
    return CruiseRuns(
        flight=flight,
        u_power=np.array([row.power.u_power_pct for row in rows]) / noted,
        u_reading=U_READING_PCT / noted,
        u_tas=np.array([one.u_tas for one in air]),
        u_temperature=np.array([one.u_temperature for one in air]),
        charted=charted,
        sortie=np.array([row.point.sortie_id for row in rows], dtype=np.int64),
        aircraft=np.array(aircraft, dtype=np.int64),
        group_of=np.array(group_of, dtype=np.int64),
    )


def cruise_points(runs: CruiseRuns, scaling_speed_kt: float) -> FleetPoints:
    """Return runs as points of a pooled fit.

    Returns:
        Uncertainties are those of the distance from a first line through the group's runs, so that
        a run which happens to lie low is not trusted more. What the instruments, the display or the
        chart of an airframe err in all its runs is not among them: nothing tells it from drag of
        its own, so it is part of the spread between aircraft, and counts for one airframe alone.
    """
    x, y = runs.flight.abscissa(scaling_speed_kt), runs.flight.coefficient(scaling_speed_kt)
    line, rise = _first_line(x, y, runs.group_of[runs.aircraft])
    doubt = doubt_of_coefficient(line, rise)
    altimeter = _DENSITY_PER_M * Assumptions().u_altitude_m
    temperature = -(doubt["sigma"] + 0.5 * runs.charted * doubt["power"]) * runs.u_temperature
    return FleetPoints(
        x=x,
        y=y,
        u_own=np.hypot(doubt["power"] * runs.u_reading, doubt["tas"] * runs.u_tas),
        u_shared=(doubt["weight"] * U_WEIGHT)[:, None],
        sortie=runs.sortie,
        aircraft=runs.aircraft,
        group_of=runs.group_of,
        u_airframe=np.column_stack([temperature, doubt["sigma"] * altimeter]),
    )


def middle_scaling_kt(runs: CruiseRuns) -> float:
    """Return half the median VIW: level and tilt then part in the middle of what was flown."""
    return float(np.median(runs.flight.viw)) / 2.0


def power_doubt(runs: CruiseRuns, scaling_speed_kt: float) -> Array:
    """Return what the doubt about the power, one and the same in all runs of an airframe, is in y.

    Returns:
        Shape (runs,).
    """
    x, y = runs.flight.abscissa(scaling_speed_kt), runs.flight.coefficient(scaling_speed_kt)
    line, rise = _first_line(x, y, runs.group_of[runs.aircraft])
    return doubt_of_coefficient(line, rise)["power"] * runs.u_power


def _first_line(x: Array, y: Array, group: Index) -> tuple[Array, Array]:
    """Return y and x dy/dx of a line through each group, which never falls with x."""
    line, rise = np.empty_like(y), np.empty_like(y)
    for number in np.unique(group):
        mine = group == number
        middle = x[mine] - x[mine].mean()
        spread = float(middle @ middle)
        slope = float(middle @ y[mine]) / spread if spread > 0.0 else 0.0
        level = float(y[mine].mean())
        # drag does not fall as lift grows, and the part without lift is not below zero
        slope = min(max(slope, 0.0), level / float(x[mine].mean()))
        line[mine], rise[mine] = level + slope * middle, slope * x[mine]
    return line, rise
