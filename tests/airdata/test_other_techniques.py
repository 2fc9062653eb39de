"""Speed course, pace aircraft, tower fly-by and trailing source, against relations of their own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Term, combine
from fleetcal.airdata.techniques.pace_aircraft import (
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
from fleetcal.airdata.techniques.technique_point import Cockpit
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
from tests.airdata.flown_techniques import (
    ASSUMED,
    FT,
    KT,
    P0,
    T0,
    TECHNIQUES,
    Air,
    G,
    altitude,
    course,
    impact,
    pace,
    pace_altimeter,
)

KAPPAS = (-0.08, -0.02, 0.0, 0.05, 0.2)


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
