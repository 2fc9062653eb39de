"""The air of the simulated flights is what it says, and the aircraft has a mass."""

from dataclasses import replace

import numpy as np
import pytest

from seed_demo.air import KT
from seed_demo.gusts import Bubbles, bubble_air, following, remembering, turbulence
from tests.airdata.simulations.air import STEP_S, Air, DrawnAir, draw_air
from tests.airdata.simulations.conditions import CONDITIONS, Condition
from tests.airdata.simulations.flights import flown
from tests.airdata.simulations.plans import box_plan, circle_plan
from tests.airdata.simulations.point_mass import Pilot, fly
from tests.airdata.simulations.recorder import EVERY, Instruments

PERFECT = Pilot(airspeed_kt=0.0, altitude_ft=0.0, heading_deg=0.0)
STRAIGHT = box_plan((90.0,), (0.0,), leg_s=600.0)


def _correlation(values, apart):
    here, there = values[..., :-apart].ravel(), values[..., apart:].ravel()
    return np.mean(here * there) / np.mean(values**2)


def test_a_process_with_memory_has_its_deviation_and_forgets_to_one_over_e():
    drawn = remembering(np.random.default_rng(1), (400, 2000), 2.0, 10.0, STEP_S)
    # 400 rows of 400 s: some 8,000 independent values, error of the deviation 1 %
    assert np.std(drawn) == pytest.approx(2.0, rel=0.04)
    assert np.std(drawn[:, 0]) == pytest.approx(2.0, rel=0.15)
    assert _correlation(drawn, round(10.0 / STEP_S)) == pytest.approx(np.exp(-1.0), abs=0.03)


def test_turbulence_has_its_deviation_in_three_components_and_less_memory_across():
    along, across, up = turbulence(np.random.default_rng(2), (400, 2000), 1.0, STEP_S)
    for part in (along, across, up):
        assert np.std(part) == pytest.approx(1.0, rel=0.04)
    ten = round(10.0 / STEP_S)
    assert _correlation(along, ten) == pytest.approx(np.exp(-1.0), abs=0.03)
    # the second-order form: exp(-x)(1 - x/2), worked out from its spectrum
    assert _correlation(across, ten) == pytest.approx(0.5 * np.exp(-1.0), abs=0.03)
    assert abs(np.mean(along * up)) < 0.03


def test_air_is_neither_made_nor_lost_in_bubbles():
    # one way through the middle: what rises in the middle sinks round it
    air = bubble_air(np.random.default_rng(3), (50, 4000), Bubbles(), STEP_S, 50.0)
    assert np.std(air[2]) > 0.8
    assert np.std(air[0]) > 0.4
    assert abs(np.mean(air[2])) < 0.5 * np.std(air[2])
    assert np.abs(np.mean(air[0], axis=1)).max() < 0.1 * np.std(air[0])


def test_the_wind_turns_as_asked_and_keeps_its_speed():
    air = draw_air(
        np.random.default_rng(4), Air(wind_kt=20.0, veer_deg_in_ten_minutes=20.0), 30, 3001
    )
    east, north = air.wind
    np.testing.assert_allclose(np.hypot(east, north), 20.0 * KT, rtol=1e-9)
    turned = np.degrees(np.unwrap(np.arctan2(east, north), axis=1))
    np.testing.assert_allclose(np.abs(turned[:, -1] - turned[:, 0]), 20.0, atol=0.01)
    assert {-1.0, 1.0} == set(np.sign(turned[:, -1] - turned[:, 0]))


def test_slow_wind_has_its_deviation_and_memory():
    air = draw_air(np.random.default_rng(5), Air(wind_kt=0.0, slow_kt=2.0), 600, 3001)
    assert np.std(air.wind[:, :, 1500]) == pytest.approx(2.0 * KT, rel=0.08)
    assert _correlation(air.wind, round(300.0 / STEP_S)) == pytest.approx(np.exp(-1.0), abs=0.06)


def test_a_ramp_is_steady_and_has_its_deviation_over_flights():
    air = draw_air(
        np.random.default_rng(11), Air(wind_kt=0.0, ramp_kt_in_ten_minutes=4.0), 800, 301
    )
    np.testing.assert_allclose(np.diff(air.wind, n=2, axis=2), 0.0, atol=1e-9)
    in_ten_minutes = (air.wind[:, :, -1] - air.wind[:, :, 0]) * 600.0 / (300.0 * STEP_S)
    assert np.std(in_ten_minutes) == pytest.approx(4.0 * KT, rel=0.06)


def test_in_shear_the_wind_grows_with_the_height_of_the_aircraft():
    sheared = Condition(
        air=Air(wind_kt=15.0, shear_kt_per_1000ft=5.0), pilot=Pilot(altitude_ft=60.0)
    )
    motion, _ = flown(sheared, STRAIGHT, 3, 12, False)
    wind = np.hypot(motion.wind_east_mps, motion.wind_north_mps)
    higher = motion.altitude_m - 1000.0
    assert np.std(higher) > 10.0
    np.testing.assert_allclose(wind, 15.0 * KT + 5.0 * KT * higher / 304.8, atol=1e-6)


def _met_by_one_gust(shape):
    """Return a flight on one heading in still air, met by a gust along its way."""
    samples = len(STRAIGHT.heading_rad)
    met = np.zeros((3, 1, samples))
    met[0, 0] = shape(np.arange(samples) * STEP_S)
    air = DrawnAir(np.zeros((2, 1, samples)), np.zeros((2, 1)), met)
    motion = fly(np.random.default_rng(6), STRAIGHT, air, PERFECT)
    late = slice(round(200.0 / STEP_S), None)
    ground = np.hypot(motion.east_mps, motion.north_mps)[0, late]
    return met[0, 0, late], motion.airspeed_mps[0, late], ground


def test_a_gust_of_one_second_shows_in_airspeed_and_not_in_ground_speed():
    gust, airspeed, ground = _met_by_one_gust(lambda t: 2.0 * np.sin(2.0 * np.pi * t))
    assert np.std(airspeed) == pytest.approx(np.std(gust), rel=0.03)
    assert np.std(ground) < 0.02 * np.std(gust)


def test_a_swell_of_minutes_shows_in_ground_speed_and_little_in_airspeed():
    gust, airspeed, ground = _met_by_one_gust(lambda t: 2.0 * np.sin(2.0 * np.pi * t / 300.0))
    assert np.std(ground) == pytest.approx(np.std(gust), rel=0.1)
    assert np.std(airspeed) < 0.4 * np.std(gust)


def test_the_aircraft_takes_up_a_lasting_gust_within_five_to_fifteen_seconds():
    begin = 400.0
    _, _, ground = _met_by_one_gust(lambda t: np.where(t < begin, 0.0, 3.0))
    after = ground[round((begin - 200.0) / STEP_S) :] - ground[round((begin - 201.0) / STEP_S)]
    taken_up = STEP_S * np.argmax(after > 3.0 * (1.0 - np.exp(-1.0)))
    assert 5.0 < taken_up < 15.0


@pytest.mark.parametrize("plan", [box_plan((90.0,)), circle_plan((90.0,))], ids=["box", "circles"])
def test_the_pitot_feels_the_gusts_that_meet_it(plan):
    motion, log = flown(Condition(air=Air(gust_mps=1.0), pilot=PERFECT), plan, 10, 7, False)
    still, calm = flown(Condition(air=Air(), pilot=PERFECT), plan, 10, 7, False)
    track = np.arctan2(still.east_mps - still.wind_east_mps, still.north_mps - still.wind_north_mps)
    along = (motion.wind_east_mps - still.wind_east_mps) * np.sin(track)
    along += (motion.wind_north_mps - still.wind_north_mps) * np.cos(track)
    measured = log.run == 0
    gust = np.diff(along[:, ::EVERY], axis=1)[:, measured[1:]]

    def changes(with_gusts, without):
        return np.diff(with_gusts - without, axis=1)[:, measured[1:]]

    felt = changes(log.airspeed_mps, calm.airspeed_mps)
    speeds = [np.hypot(one.east_mps, one.north_mps) for one in (log, calm)]
    # from one second to the next: a gust from ahead raises the airspeed by its size
    assert np.corrcoef(felt.ravel(), -gust.ravel())[0, 1] > 0.9
    assert np.std(felt) == pytest.approx(np.std(gust), rel=0.2)
    assert np.std(changes(*speeds)) < 0.4 * np.std(gust)


def test_instruments_lag_by_what_is_said():
    condition = CONDITIONS["everything mild"]
    plan = box_plan((90.0,))
    at_once = replace(condition, instruments=Instruments(gps_mps=0.0))
    late = replace(condition, instruments=Instruments(gps_mps=0.0, gps_lag_s=2.0))
    _, now = flown(at_once, plan, 3, 8, False)
    _, then = flown(late, plan, 3, 8, False)
    np.testing.assert_array_equal(then.east_mps[:, 2:], now.east_mps[:, :-2])
    step = np.concatenate([np.zeros(10), np.ones(200)])
    assert STEP_S * (np.argmax(following(step, 5.0, STEP_S) > 1.0 - np.exp(-1.0)) - 10) == (
        pytest.approx(5.0, abs=2.0 * STEP_S)
    )


@pytest.mark.long
def test_errors_of_instruments_last_over_a_flight():
    plan = box_plan((105.0, 71.0))
    _, wrong = flown(CONDITIONS["no faults"], plan, 5, 9, True)
    _, right = flown(CONDITIONS["no faults"], plan, 5, 9, False)
    for name, step in (("airspeed_mps", 0.1 * KT), ("altitude_m", 0.3048), ("temperature_k", 0.1)):
        off = getattr(wrong, name) - getattr(right, name)
        assert np.all(np.ptp(off, axis=1) < 4.0 * step)
        assert np.ptp(off.mean(axis=1)) > 0.0


@pytest.mark.long
def test_a_self_heated_probe_reads_warm_and_follows_late():
    plan = box_plan((105.0, 71.0))
    hot = Condition(pilot=PERFECT, instruments=Instruments(self_heating_k=3.0))
    _, log = flown(hot, plan, 2, 10, False)
    _, right = flown(Condition(pilot=PERFECT), plan, 2, 10, False)
    fast, slow = ((log.temperature_k - right.temperature_k)[:, log.run == i].mean() for i in (0, 1))
    assert 1.0 < fast < slow < 3.0
