"""Speed course, pace aircraft, tower fly-by and trailing source, against relations of their own.

Nothing of the package is used to make the readings: the standard atmosphere and
the pitot relations are written out again (from their defining equations).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions, Term, combine
from fleetcal.airdata.techniques.pace_aircraft import (
    PaceAltimeter,
    PaceReadings,
    best_weight,
    reduce_pace_aircraft,
)
from fleetcal.airdata.techniques.propagation import Doubt, propagated_terms, weighted_terms
from fleetcal.airdata.techniques.speed_course import (
    CoursePair,
    course_true_airspeed,
    reduce_speed_course,
)
from fleetcal.airdata.techniques.technique_point import Cockpit, TechniquePoint
from fleetcal.airdata.techniques.tower_fly_by import (
    TowerPass,
    pressure_at_height,
    reduce_tower_fly_by,
)
from fleetcal.airdata.techniques.trailing_static import (
    TrailingAltimeter,
    TrailingGauge,
    reduce_trailing_static,
)

KT, FT = 1852.0 / 3600.0, 0.3048
P0, T0, LAPSE, G, R = 101325.0, 288.15, 0.0065, 9.80665, 287.05287
A0 = np.sqrt(1.4 * R * T0)
DRAWS = 3000
KAPPAS = (-0.08, -0.02, 0.0, 0.05, 0.2)


def pressure(altitude_m: float) -> float:
    return float(P0 * (1.0 - LAPSE * altitude_m / T0) ** (G / (R * LAPSE)))


def altitude(pressure_pa: float) -> float:
    return float(T0 / LAPSE * (1.0 - (pressure_pa / P0) ** (R * LAPSE / G)))


def impact(speed_mps: float) -> float:
    return float(P0 * ((1.0 + 0.2 * (speed_mps / A0) ** 2) ** 3.5 - 1.0))


def airspeed(impact_pa: float) -> float:
    return float(A0 * np.sqrt(5.0 * ((impact_pa / P0 + 1.0) ** (1.0 / 3.5) - 1.0)))


@dataclass(frozen=True, kw_only=True)
class Air:
    """What is true, and what the instruments of an aircraft with a known kappa show."""

    kappa: float = 0.05
    cas_mps: float = 100.0 * KT
    altitude_m: float = 3000.0 * FT
    temperature_k: float = 289.0
    recovery_factor: float = 0.8

    @property
    def free_pa(self) -> float:
        return pressure(self.altitude_m)

    @property
    def felt_pa(self) -> float:
        """ps_ind from kappa = (ps_ind - ps)/(pt - ps_ind)."""
        total = self.free_pa + impact(self.cas_mps)
        return (self.free_pa + self.kappa * total) / (1.0 + self.kappa)

    @property
    def mach(self) -> float:
        ratio = impact(self.cas_mps) / self.free_pa + 1.0
        return float(np.sqrt(5.0 * (ratio ** (1.0 / 3.5) - 1.0)))

    @property
    def true_airspeed_mps(self) -> float:
        return float(self.mach * np.sqrt(1.4 * R * self.temperature_k))

    def cockpit(self, u_airspeed: float = 0.5 * KT, u_altitude: float = 10.0 * FT) -> Cockpit:
        total = self.free_pa + impact(self.cas_mps)
        probe = self.temperature_k * (1.0 + 0.2 * self.recovery_factor * self.mach**2)
        return Cockpit(
            airspeed_mps=airspeed(total - self.felt_pa),
            altitude_m=altitude(self.felt_pa),
            u_airspeed_reading_mps=u_airspeed,
            u_altitude_reading_m=u_altitude,
            temperature_k=probe,
            recovery_factor=self.recovery_factor,
        )


ASSUMED = Assumptions()


def course(air: Air, along: float = 0.0, distance_m: float = 3704.0) -> CoursePair:
    true = air.true_airspeed_mps
    return CoursePair(
        cockpit=air.cockpit(),
        distance_m=distance_m,
        time_out_s=distance_m / (true + along),
        time_back_s=distance_m / (true - along),
        u_distance_m=10,
        u_time_s=0.3,
    )


def pace(air: Air, correction: float = -0.7 * KT) -> PaceReadings:
    return PaceReadings(
        cockpit=air.cockpit(),
        airspeed_mps=air.cas_mps - correction,
        correction_mps=correction,
        u_calibration_mps=0.8 * KT,
        u_reading_mps=0.5 * KT,
        u_station_mps=0.3 * KT,
    )


def pace_altimeter(air: Air, correction: float = 35.0 * FT) -> PaceAltimeter:
    return PaceAltimeter(
        altitude_m=air.altitude_m - correction,
        correction_m=correction,
        u_calibration_m=20.0 * FT,
        u_reading_m=10.0 * FT,
        u_station_m=5.0 * FT,
    )


def tower(air: Air, height_m: float = 25.0) -> TowerPass:
    """The tower's pressure by the hydrostatic equation in small steps down from the aircraft."""
    free, steps = air.free_pa, 4000
    step = height_m / steps
    top = air.temperature_k
    for i in range(steps):
        free *= np.exp(G * step / (R * (top + LAPSE * step * (i + 0.5))))
    below = top + LAPSE * height_m
    return TowerPass(
        cockpit=air.cockpit(),
        reference_pressure_pa=free,
        reference_temperature_k=below,
        height_m=height_m,
        u_reference_pressure_pa=30.0,
        u_reference_temperature_k=1.0,
        u_survey_m=0.5,
        u_sighting_m=1.0,
    )


def gauge(air: Air, correction: float = -4.0) -> TrailingGauge:
    trailing = air.free_pa - correction
    return TrailingGauge(
        cockpit=air.cockpit(),
        difference_pa=air.felt_pa - trailing,
        correction_pa=correction,
        u_correction_pa=10.0,
        u_gauge_pa=5.0,
        u_reading_pa=3.0,
    )


def trailing_altimeter(air: Air, correction: float = 12.0 * FT) -> TrailingAltimeter:
    return TrailingAltimeter(
        cockpit=air.cockpit(),
        altitude_m=air.altitude_m - correction,
        correction_m=correction,
        u_correction_m=15.0 * FT,
        u_reading_m=10.0 * FT,
    )


TECHNIQUES: dict[str, Callable[[Air], TechniquePoint]] = {
    "speed course": lambda air: reduce_speed_course([course(air, 7.0)], ASSUMED),
    "several pairs": lambda air: reduce_speed_course(
        [course(air, 7.0), course(replace(air, cas_mps=air.cas_mps + 1.0), -3.0)], ASSUMED
    ),
    "pace aircraft": lambda air: reduce_pace_aircraft(pace(air), ASSUMED),
    "pace with altimeters": lambda air: reduce_pace_aircraft(
        replace(pace(air), altimeter=pace_altimeter(air)), ASSUMED
    ),
    "tower": lambda air: reduce_tower_fly_by(tower(air), ASSUMED),
    "below the tower": lambda air: reduce_tower_fly_by(tower(air, -40.0), ASSUMED),
    "gauge": lambda air: reduce_trailing_static(gauge(air), ASSUMED),
    "trailing altimeter": lambda air: reduce_trailing_static(trailing_altimeter(air), ASSUMED),
}


@pytest.mark.parametrize("kappa", KAPPAS)
@pytest.mark.parametrize("name", TECHNIQUES)
def test_every_technique_gives_back_the_kappa_it_was_flown_with(name: str, kappa: float) -> None:
    air = Air(kappa=kappa)
    point = TECHNIQUES[name](air)
    assert point.kappa == pytest.approx(kappa, abs=2e-8)
    if name == "several pairs":
        return  # Vic and Hic are means of two speeds there
    cockpit = air.cockpit()
    assert point.dvpc_mps == pytest.approx(air.cas_mps - cockpit.airspeed_mps, abs=1e-6)
    assert point.dhpc_m == pytest.approx(air.altitude_m - cockpit.altitude_m, abs=1e-4)
    assert point.true_airspeed_mps == pytest.approx(air.true_airspeed_mps, abs=1e-6)
    assert point.reason == ""


@pytest.mark.parametrize("name", TECHNIQUES)
def test_u_is_the_root_of_the_squares_of_the_terms(name: str) -> None:
    point = TECHNIQUES[name](Air())
    names = [term.name for term in point.terms]
    assert len(names) == len(set(names))
    squares = sum(term.u_kappa**2 for term in point.terms)
    assert point.u_kappa == pytest.approx(np.sqrt(squares), rel=1e-12)
    assert {term.kind for term in point.terms} <= {"A", "B"}


def test_what_is_not_the_points_alone_says_whose_it_is() -> None:
    shared = {
        name: {t.name for t in reduce(Air()).terms if t.owner != "point"}
        for name, reduce in TECHNIQUES.items()
    }
    instruments = {"airspeed indicator", "altimeter"}
    air = {"outside-air temperature", "recovery factor", "humidity"}
    assert shared["speed course"] == {"course distance", *air, *instruments}
    assert shared["pace aircraft"] == {"pace aircraft calibration", "airspeed indicator"}
    assert shared["pace with altimeters"] == {
        "pace aircraft calibration",
        "pace altimeter calibration",
        *instruments,
    }
    survey = {"reference pressure", "reference temperature", "surveyed height"}
    assert shared["tower"] == {*survey, *instruments}
    assert shared["gauge"] == {"trailing source", "pressure gauge", "airspeed indicator"}
    assert shared["trailing altimeter"] == {"trailing source", *instruments}
    owners = {t.name: t.owner for reduce in TECHNIQUES.values() for t in reduce(Air()).terms}
    lasting = {*instruments, "outside-air temperature"}
    assert {name for name, owner in owners.items() if owner == "airframe"} == lasting
    assert {name for name, owner in owners.items() if owner == "fleet"} == {"recovery factor"}


# --- speed course ---


def test_the_mean_is_of_the_speeds_and_not_of_the_times() -> None:
    # Two nautical miles, 120 kt out and 80 kt back: 100 kt. The distance over the
    # mean time would say 96 kt, the mistake that courses are known for.
    speed = course_true_airspeed(3704.0, 60.0, 90.0) / KT
    assert speed == pytest.approx(100.0, rel=1e-12)
    assert pytest.approx(96.0) == 3704.0 / 75.0 / KT


@pytest.mark.parametrize("crosswind_kt", [0.0, 12.0, 25.0])
@pytest.mark.parametrize("along_kt", [-20.0, 0.0, 15.0])
def test_wind_drops_out_when_the_heading_is_held(crosswind_kt: float, along_kt: float) -> None:
    """Fly past two marks second by second, drifting, and time the passes from abeam to abeam."""
    air = Air(kappa=-0.03)
    wind = np.array([along_kt, crosswind_kt]) * KT
    course_m = 5000.0
    times = []
    for direction in (1.0, -1.0):
        ground = np.array([direction * air.true_airspeed_mps, 0.0]) + wind
        track = np.outer(np.linspace(0.0, 300.0, 3001), ground)
        along = direction * track[:, 0]
        times.append(float(np.interp(course_m, along, np.linspace(0.0, 300.0, 3001))))
    out_s, back_s = times
    pair = CoursePair(
        cockpit=air.cockpit(),
        distance_m=course_m,
        time_out_s=out_s,
        time_back_s=back_s,
        u_distance_m=10.0,
        u_time_s=0.3,
    )
    assert reduce_speed_course([pair], ASSUMED).kappa == pytest.approx(-0.03, abs=1e-8)


def test_more_pairs_make_it_more_certain_but_not_what_they_share() -> None:
    air = Air()
    one = {t.name: abs(t.u_kappa) for t in reduce_speed_course([course(air)], ASSUMED).terms}
    four = {t.name: abs(t.u_kappa) for t in reduce_speed_course([course(air)] * 4, ASSUMED).terms}
    assert one["timing"] / four["timing"] == pytest.approx(2.0, rel=1e-9)
    assert one["airspeed reading"] / four["airspeed reading"] == pytest.approx(2.0, rel=1e-9)
    for name in ("course distance", "outside-air temperature", "airspeed indicator", "wind drift"):
        assert one[name] == pytest.approx(four[name], rel=1e-9)


def test_pairs_that_disagree_make_the_point_less_certain() -> None:
    air = Air()
    calm = reduce_speed_course([course(air)] * 3, ASSUMED)
    gusty = [
        replace(course(air), time_out_s=course(air).time_out_s * factor)
        for factor in (0.96, 1.0, 1.04)
    ]
    assert reduce_speed_course(gusty, ASSUMED).u_kappa > 1.25 * calm.u_kappa
    assert "3 pairs" in reduce_speed_course(gusty, ASSUMED).remark


# --- pace aircraft ---


def test_131_kt_against_130_on_the_reference_by_hand() -> None:
    # Common practice, no published source: a pilot reads 131 kt beside an aircraft
    # that shows 130 kt and is known to be right. The correction is minus one knot.
    air = Air(kappa=0.0, cas_mps=131.0 * KT)
    cockpit = replace(air.cockpit(u_airspeed=0.4 * KT), airspeed_mps=131.0 * KT)
    readings = PaceReadings(
        cockpit=cockpit,
        airspeed_mps=130.0 * KT,
        correction_mps=0.0,
        u_calibration_mps=0.6 * KT,
        u_reading_mps=0.5 * KT,
        u_station_mps=0.3 * KT,
    )
    point = reduce_pace_aircraft(readings, replace(ASSUMED, u_airspeed_mps=0.2 * KT))
    assert point.dvpc_mps / KT == pytest.approx(-1.0, abs=1e-9)
    assert point.kappa == pytest.approx(impact(130.0 * KT) / impact(131.0 * KT) - 1.0, rel=1e-9)
    # By hand: u of the reference sqrt(0.6^2 + 0.5^2 + 0.3^2) = 0.8367 kt; u of 131 kt
    # sqrt(0.4^2 + 0.2^2) = 0.4472 kt. kappa is (130/131)^2 - 1, near enough, so a knot
    # at 131 counts 130/131 knots at 130.
    by_hand = np.hypot(0.8367, 0.4472 * 130.0 / 131.0)
    assert point.u_dvpc_mps / KT == pytest.approx(by_hand, rel=1e-3)
    assert by_hand == pytest.approx(0.947, abs=1e-3)
    # dH = dp/(rho g) at 3,000 ft, where the standard density ratio is 0.9151
    slope = impact(131.0 * KT) - impact(130.0 * KT)
    assert point.dhpc_m / FT == pytest.approx(-slope / (1.225 * 0.9151 * G) / FT, rel=2e-3)


def test_airspeeds_and_altimeters_that_agree_are_joined() -> None:
    air = Air()
    alone = reduce_pace_aircraft(pace(air), ASSUMED)
    joined = reduce_pace_aircraft(replace(pace(air), altimeter=pace_altimeter(air)), ASSUMED)
    assert joined.u_kappa < alone.u_kappa
    assert joined.reason == ""
    assert "airspeeds weighted" in joined.remark
    assert alone.remark == ""


def test_airspeeds_and_altimeters_that_contradict_each_other_are_not_accepted() -> None:
    air = Air()
    wrong = replace(pace_altimeter(air), altitude_m=air.altitude_m + 200.0 * FT)
    point = reduce_pace_aircraft(replace(pace(air), altimeter=wrong), ASSUMED)
    assert point.reason.startswith("airspeeds and altimeters contradict each other")
    assert point.reason in f"airspeeds and altimeters contradict each other; {point.remark}"


def term(name: str, u: float) -> Term:
    return Term(name=name, u_kappa=u, owner="point", kind="B")


def test_the_weight_makes_the_mean_most_certain_with_inputs_in_common() -> None:
    first = (term("common", 3.0), term("one", 2.0))
    second = (term("common", 1.0), term("two", 4.0))
    weight = best_weight(first, second)
    least = combine(weighted_terms(first, second, weight))[0]
    for other in (weight - 0.05, weight + 0.05):
        assert combine(weighted_terms(first, second, other))[0] > least
    assert 0.0 < weight < 1.0
    # by hand: (17 - 3)/(13 + 17 - 6) = 14/24
    assert weight == pytest.approx(14.0 / 24.0, rel=1e-12)


def test_no_value_gets_a_negative_weight() -> None:
    first, second = (term("common", 3.0),), (term("common", 1.0), term("two", 0.5))
    assert best_weight(first, second) == 0.0
    assert best_weight(second, first) == 1.0
    assert best_weight(first, first) == 0.5


# --- published-equation rows: one static error seen as speed and as height ---

# True CAS 100 kt at sea level, total pressure right, (ps_ind - ps)/qc = Cp: computed
# from the defining equations, (indicated kt, indicated pressure altitude ft).
POSITION_ERROR = {
    0.01: (99.501567, -4.4521),
    0.02: (99.000568, -8.9036),
    0.05: (97.481776, -22.2546),
    -0.05: (102.454976, 22.2691),
}


@pytest.mark.parametrize("cp", POSITION_ERROR)
def test_airspeed_and_altitude_tell_the_same_error(cp: float) -> None:
    indicated_kt, indicated_ft = POSITION_ERROR[cp]
    cockpit = Cockpit(
        airspeed_mps=indicated_kt * KT,
        altitude_m=indicated_ft * FT,
        u_airspeed_reading_mps=0.5 * KT,
        u_altitude_reading_m=10.0 * FT,
    )
    by_speed = reduce_pace_aircraft(
        PaceReadings(
            cockpit=cockpit,
            airspeed_mps=100.0 * KT,
            correction_mps=0.0,
            u_calibration_mps=KT,
            u_reading_mps=0.0,
            u_station_mps=0.0,
        ),
        ASSUMED,
    )
    by_tower = reduce_tower_fly_by(
        TowerPass(
            cockpit=cockpit,
            reference_pressure_pa=101325.0,
            reference_temperature_k=288.15,
            height_m=0.0,
            u_reference_pressure_pa=30.0,
            u_reference_temperature_k=1.0,
            u_survey_m=0.5,
            u_sighting_m=1.0,
        ),
        ASSUMED,
    )
    by_altimeter = reduce_trailing_static(
        TrailingAltimeter(
            cockpit=cockpit, altitude_m=0.0, correction_m=0.0, u_correction_m=3.0, u_reading_m=3.0
        ),
        ASSUMED,
    )
    dps_pa = cp * impact(100.0 * KT)
    by_gauge = reduce_trailing_static(
        TrailingGauge(
            cockpit=cockpit,
            difference_pa=dps_pa,
            correction_pa=0.0,
            u_correction_pa=5.0,
            u_gauge_pa=5.0,
            u_reading_pa=3.0,
        ),
        ASSUMED,
    )
    for point in (by_speed, by_tower, by_altimeter, by_gauge):
        assert point.kappa == pytest.approx(cp / (1.0 - cp), abs=1e-6)
        assert point.dvpc_mps / KT == pytest.approx(100.0 - indicated_kt, abs=1e-4)
        assert point.dhpc_m / FT == pytest.approx(-indicated_ft, abs=1e-3)


# Feet of altimeter error for each knot of airspeed error, from the same equations.
FEET_PER_KNOT = {(0, 60): 5.3343, (0, 100): 8.9556, (5000, 100): 10.3933, (10000, 150): 18.4503}


@pytest.mark.parametrize("place", FEET_PER_KNOT)
def test_a_knot_is_worth_the_known_number_of_feet(place: tuple[int, int]) -> None:
    feet, knots = place
    cockpit = Cockpit(
        airspeed_mps=knots * KT,
        altitude_m=feet * FT,
        u_airspeed_reading_mps=0.5 * KT,
        u_altitude_reading_m=10.0 * FT,
    )
    little = 0.01
    readings = PaceReadings(
        cockpit=cockpit,
        airspeed_mps=(knots + little) * KT,
        correction_mps=0.0,
        u_calibration_mps=KT,
        u_reading_mps=0.0,
        u_station_mps=0.0,
    )
    point = reduce_pace_aircraft(readings, ASSUMED)
    assert point.dhpc_m / FT / little == pytest.approx(FEET_PER_KNOT[place], rel=5e-4)


# --- tower ---


def test_in_the_standard_atmosphere_height_is_pressure_altitude() -> None:
    for height in (-300.0, 0.0, 15.0, 900.0):
        assert altitude(float(pressure_at_height(P0, T0, height))) == pytest.approx(
            height, abs=1e-6
        )


def test_warm_air_makes_a_metre_worth_less_pressure_altitude() -> None:
    # Common practice: pressure altitude differs by the height times T_standard/T.
    height, warmer = 30.0, 20.0
    found = altitude(float(pressure_at_height(P0, T0 + warmer, height)))
    assert found == pytest.approx(height * T0 / (T0 + warmer), rel=1e-3)


# --- stated uncertainty against a simulation ---


def drawn(rng: np.random.Generator, *scales: float) -> tuple[float, ...]:
    return tuple(float(scale * rng.standard_normal()) for scale in scales)


def shaken(cockpit: Cockpit, rng: np.random.Generator, recovery: bool = False) -> Cockpit:
    """A cockpit whose instruments and readings are off, as supposed."""
    v, look, h, glance, warmth, factor = drawn(
        rng,
        ASSUMED.u_airspeed_mps,
        cockpit.u_airspeed_reading_mps,
        ASSUMED.u_altitude_m,
        cockpit.u_altitude_reading_m,
        ASSUMED.u_temperature_k,
        ASSUMED.u_recovery_factor if recovery else 0.0,
    )
    assert cockpit.temperature_k is not None
    return replace(
        cockpit,
        airspeed_mps=cockpit.airspeed_mps + v + look,
        altitude_m=cockpit.altitude_m + h + glance,
        temperature_k=cockpit.temperature_k + warmth,
        recovery_factor=cockpit.recovery_factor + factor,
    )


def fly_course(air: Air, rng: np.random.Generator) -> TechniquePoint:
    pair = course(air, 5.0)
    out, back, length = drawn(rng, pair.u_time_s, pair.u_time_s, pair.u_distance_m)
    gusts = drawn(rng, ASSUMED.u_wind_mps, ASSUMED.u_wind_mps)
    apart = (pair.time_out_s + pair.time_back_s) / 2.0 + 90.0
    (drift,) = drawn(rng, ASSUMED.u_wind_drift_mps2)
    true = air.true_airspeed_mps
    speeds = (true + 5.0 + gusts[0] + drift * apart, true - 5.0 + gusts[1])
    flown = replace(
        pair,
        cockpit=shaken(pair.cockpit, rng, recovery=True),
        time_out_s=pair.distance_m / speeds[0] + out,
        time_back_s=pair.distance_m / speeds[1] + back,
        distance_m=pair.distance_m + length,
    )
    return reduce_speed_course([flown], NOTHING)


def fly_pace(air: Air, rng: np.random.Generator) -> TechniquePoint:
    r = pace(air)
    off = sum(drawn(rng, r.u_calibration_mps, r.u_reading_mps, r.u_station_mps))
    shifted = replace(r, cockpit=shaken(r.cockpit, rng), airspeed_mps=r.airspeed_mps + off)
    return reduce_pace_aircraft(shifted, NOTHING)


def fly_tower(air: Air, rng: np.random.Generator) -> TechniquePoint:
    r = STEADY_TOWER
    dp, dt, survey, sight = drawn(
        rng, r.u_reference_pressure_pa, r.u_reference_temperature_k, r.u_survey_m, r.u_sighting_m
    )
    flown = replace(
        r,
        cockpit=shaken(r.cockpit, rng),
        reference_pressure_pa=r.reference_pressure_pa + dp,
        reference_temperature_k=r.reference_temperature_k + dt,
        height_m=r.height_m + survey + sight,
    )
    return reduce_tower_fly_by(flown, NOTHING)


def fly_gauge(air: Air, rng: np.random.Generator) -> TechniquePoint:
    r = gauge(air)
    off = sum(drawn(rng, r.u_correction_pa, r.u_gauge_pa, r.u_reading_pa))
    flown = replace(r, cockpit=shaken(r.cockpit, rng), difference_pa=r.difference_pa + off)
    return reduce_trailing_static(flown, NOTHING)


def fly_trailing_altimeter(air: Air, rng: np.random.Generator) -> TechniquePoint:
    r = trailing_altimeter(air)
    off = sum(drawn(rng, r.u_correction_m, r.u_reading_m))
    flown = replace(r, cockpit=shaken(r.cockpit, rng), altitude_m=r.altitude_m + off)
    return reduce_trailing_static(flown, NOTHING)


#: Draws need no budget of their own.
NOTHING = replace(ASSUMED, u_temperature_k=0.0, u_recovery_factor=0.0, u_wind_mps=0.0)
STEADY_TOWER = tower(Air())
SIMULATIONS: dict[str, Callable[[Air, np.random.Generator], TechniquePoint]] = {
    "speed course": fly_course,
    "pace aircraft": fly_pace,
    "tower": fly_tower,
    "gauge": fly_gauge,
    "trailing altimeter": fly_trailing_altimeter,
}


@pytest.mark.parametrize("name", SIMULATIONS)
def test_the_stated_uncertainty_is_what_a_simulation_scatters(name: str) -> None:
    """With 3,000 draws the scatter itself is known to 1.3 %; 5 % is asked for."""
    air, rng = Air(), np.random.default_rng(20240502)
    stated = (
        TECHNIQUES[name](air)
        if name != "speed course"
        else reduce_speed_course([course(air, 5.0)], ASSUMED)
    )
    kappas = np.array([SIMULATIONS[name](air, rng).kappa for _ in range(DRAWS)])
    assert kappas.std() == pytest.approx(stated.u_kappa, rel=0.05)
    assert kappas.mean() == pytest.approx(air.kappa, abs=4.0 * stated.u_kappa / np.sqrt(DRAWS))


def test_the_joined_pace_aircraft_scatters_as_stated() -> None:
    air, rng = Air(), np.random.default_rng(5)
    whole = replace(pace(air), altimeter=pace_altimeter(air))
    stated = reduce_pace_aircraft(whole, ASSUMED)
    altimeter = pace_altimeter(air)
    kappas = []
    for _ in range(DRAWS // 2):
        off = sum(drawn(rng, whole.u_calibration_mps, whole.u_reading_mps, whole.u_station_mps))
        high = sum(
            drawn(rng, altimeter.u_calibration_m, altimeter.u_reading_m, altimeter.u_station_m)
        )
        flown = replace(
            whole,
            cockpit=shaken(whole.cockpit, rng),
            airspeed_mps=whole.airspeed_mps + off,
            altimeter=replace(altimeter, altitude_m=altimeter.altitude_m + high),
        )
        kappas.append(reduce_pace_aircraft(flown, ASSUMED).kappa)
    assert np.std(kappas) == pytest.approx(stated.u_kappa, rel=0.05)


def test_the_scatter_of_several_pairs_is_stated_rightly_on_average() -> None:
    air, rng, draws = Air(), np.random.default_rng(11), 1200
    own = replace(
        ASSUMED, u_temperature_k=0.0, u_recovery_factor=0.0, u_airspeed_mps=0.0, u_altitude_m=0.0,
        u_wind_drift_mps2=0.0,
    )  # fmt: skip
    kappas, variances = [], []
    true = air.true_airspeed_mps
    for _ in range(draws):
        pairs = []
        for _ in range(3):
            gusts = drawn(rng, own.u_wind_mps, own.u_wind_mps)
            time = drawn(rng, 0.3, 0.3)
            still = air.cockpit(u_airspeed=0.0, u_altitude=0.0)
            pairs.append(
                CoursePair(
                    cockpit=still,
                    distance_m=3704.0,
                    time_out_s=3704.0 / (true + gusts[0]) + time[0],
                    time_back_s=3704.0 / (true + gusts[1]) + time[1],
                    u_distance_m=0.0,
                    u_time_s=0.3,
                )
            )
        point = reduce_speed_course(pairs, own)
        kappas.append(point.kappa)
        variances.append(point.u_kappa**2)
    assert np.sqrt(np.mean(variances)) == pytest.approx(np.std(kappas), rel=0.06)


# --- propagation ---


def test_doubts_of_one_name_add_as_they_must() -> None:
    def total(x: Mapping[str, float]) -> float:
        return 2.0 * x["a"] - x["b"]

    inputs = {"a": 1.0, "b": 5.0}
    shared = [
        Doubt(name="same", of="a", u=0.3, owner="sortie"),
        Doubt(name="same", of="b", u=0.3, owner="airframe"),
    ]
    own = [
        Doubt(name="same", of="a", u=0.3, owner="point"),
        Doubt(name="same", of="b", u=0.3, owner="point"),
    ]
    (together,) = propagated_terms(total, inputs, shared)
    (apart,) = propagated_terms(total, inputs, own)
    assert together.u_kappa == pytest.approx(0.3)
    assert apart.u_kappa == pytest.approx(np.hypot(0.6, 0.3))
    nothing = Doubt(name="none", of="a", u=0.0, owner="sortie")
    assert propagated_terms(total, inputs, [nothing]) == ()
