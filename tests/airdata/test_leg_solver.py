from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import root

from fleetcal.airdata.flight_pieces import cut
from fleetcal.airdata.looked_pieces import READ_ONCE
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import STILL
from fleetcal.errors import OutOfRangeError
from tests.airdata.run_maker import alike, evenly, made_run, true_airspeed_and_slope
from tests.airdata.solved_legs import leg_stretches, solve_legs, wind_of


def noisy_run(generator, count, noise_mps=0.3):
    """A run with own airspeeds, own altitudes, and ground vectors that do not quite fit."""
    readings = Readings(
        airspeed_mps=generator.uniform(35.0, 80.0) * generator.uniform(0.93, 1.07, count),
        altitude_m=generator.uniform(-200.0, 7000.0) + generator.uniform(-14.0, 14.0, count),
        temperature_k=generator.uniform(240.0, 305.0) + generator.normal(0.0, 0.3, count),
        recovery_factor=np.full(count, generator.uniform(0.0, 1.0)),
    )
    heading = evenly(count, generator.uniform(0.0, 6.0)) + generator.uniform(-0.3, 0.3, count)
    made = made_run(
        heading,
        readings,
        generator.uniform(-0.15, 0.2),
        generator.uniform(0.0, 20.0),
        generator.uniform(0.0, 6.0),
    )
    off = generator.normal(0.0, noise_mps, (2, count))
    return made.east_mps + off[0], made.north_mps + off[1], readings


def balance(unknown, east, north, readings):
    """What must vanish at the answer, from the defining equations alone.

    Legs weigh by a scatter that goes with their true airspeed; each has the slope by kappa
    of the airspeed that was meant.
    """
    air_east, air_north = east - unknown[0], north - unknown[1]
    length = np.hypot(air_east, air_north)
    speed = true_airspeed_and_slope(readings, unknown[2])[0]
    meant = replace(readings, airspeed_mps=np.full(len(east), readings.airspeed_mps.mean()))
    slope = true_airspeed_and_slope(meant, unknown[2])[1]
    weight = 1.0 / ((READ_ONCE * speed) ** 2 + 0.05**2)
    return np.stack([air_east / length, air_north / length, slope]) @ (weight * (length - speed))


@pytest.mark.parametrize("count", [3, 4, 5, 6, 7, 8])
def test_a_general_solver_finds_the_same_wind_and_kappa(count):
    # A wind that hardly moves moves a little: 0.1 kt in ten minutes, of legs a second apart. No leg
    # is so far off that it is trusted less.
    generator = np.random.default_rng(100 + count)
    for _ in range(20):
        run = noisy_run(generator, count)
        found = solve_legs(*run)
        assert found.converged
        ours = np.array([*wind_of(found), found.kappa[0]])
        general = root(balance, ours + np.array([0.3, -0.2, 0.01]), args=run)
        assert np.abs(balance(general.x, *run)).max() < 1e-5
        np.testing.assert_allclose(ours, general.x, rtol=2e-4, atol=2e-4)
        assert found.kappa[0] == pytest.approx(general.x[2], abs=2e-5)


def test_true_airspeed_and_its_slope_agree_with_the_defining_equations():
    generator = np.random.default_rng(9)
    count = 400
    readings = Readings(
        airspeed_mps=generator.uniform(15.0, 120.0, count),
        altitude_m=generator.uniform(-1000.0, 10900.0, count),
        temperature_k=generator.uniform(220.0, 320.0, count),
        recovery_factor=generator.uniform(0.0, 1.0, count),
    )
    kappa = generator.uniform(-0.45, 0.45, count)
    static, impact = readings.pressures()
    speed, slope = true_airspeed_for(
        static, impact, readings.temperature_k, readings.recovery_factor, kappa
    )
    expected, by_difference = true_airspeed_and_slope(readings, kappa)
    np.testing.assert_allclose(speed, expected, rtol=2e-13 * 100)
    np.testing.assert_allclose(slope, by_difference, rtol=1e-7)


def test_a_kappa_that_leaves_no_pressure_has_no_true_airspeed():
    def speed(kappa):
        return true_airspeed_for(*(np.asarray(value) for value in (5e4, 4e3, 280.0, 0.8, kappa)))[0]

    assert np.isnan(speed([-1.2, 12.6, 14.0, 100.0])).all()
    assert np.isfinite(speed([-0.99, 12.4])).all()


def together(*runs, apart_s=1.0):
    """Runs of one flight, one after the other, each with its own kappa."""
    stretches, begin = [], 0.0
    for group, (east, north, readings) in enumerate(runs):
        time_s = begin + np.arange(float(len(east)))
        stretches += leg_stretches(east, north, readings, group, time_s)
        begin += len(east) + apart_s
    return solve_pieces(cut(stretches), STILL)


def test_runs_of_one_steady_wind_are_recovered_side_by_side_whatever_their_length():
    wind, altitude = (8.0, 1.0), 1200.0
    kappas, counts, speeds = (0.05, -0.11, 0.2), (3, 6, 4), (38.0, 55.0, 71.0)
    made = [
        made_run(evenly(count, 0.7 * count), alike(count, speed, altitude), kappa, *wind)
        for kappa, count, speed in zip(kappas, counts, speeds, strict=True)
    ]
    found = together(*((one.east_mps, one.north_mps, one.readings) for one in made))
    np.testing.assert_allclose(found.kappa, kappas, atol=1e-8)
    np.testing.assert_allclose(wind_of(found), [made[0].wind_east_mps, made[0].wind_north_mps])
    # three legs share the wind of the others, so they are surer than by themselves
    alone = solve_legs(made[0].east_mps, made[0].north_mps, made[0].readings)
    assert found.covariance[0, 0] < 0.8 * alone.covariance[0, 0]


def test_a_run_that_reads_in_another_unit_does_not_spoil_its_neighbour():
    good = made_run(evenly(4), alike(4), 0.05, 8.0, 1.0)
    odd = made_run(evenly(4, 0.9), alike(4, 52.0), 0.0, 8.0, 1.0)
    miles = replace(odd.readings, airspeed_mps=odd.readings.airspeed_mps / 0.869)
    found = together(
        (good.east_mps, good.north_mps, good.readings), (odd.east_mps, odd.north_mps, miles)
    )
    assert found.kappa[0] == pytest.approx(0.05, abs=1e-8)
    assert found.kappa[1] == pytest.approx(0.869**2 - 1.0, abs=0.01)


def test_readings_out_of_range_are_named():
    made = made_run(evenly(4), alike(4), 0.05, 8.0, 1.0)
    wrong = replace(made.readings, altitude_m=np.array([900.0, 900.0, 35000.0, 900.0]))
    with pytest.raises(OutOfRangeError, match="altitude 35000 m"):
        solve_legs(made.east_mps, made.north_mps, wrong)


def test_a_missing_reading_leaves_its_run_unsolved_and_says_so():
    made = made_run(evenly(4), alike(4), 0.05, 8.0, 1.0)
    wrong = replace(made.readings, temperature_k=np.array([281.0, np.nan, 281.0, 281.0]))
    found = solve_legs(made.east_mps, made.north_mps, wrong)
    assert not found.converged
    assert np.isnan(found.kappa[0])
    assert np.isnan(found.wind_mps).all()
