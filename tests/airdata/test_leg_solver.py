from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from fleetcal.airdata.leg_solution import solve_legs
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.errors import OutOfRangeError
from tests.airdata.run_maker import alike, evenly, made_run, true_airspeed_and_slope

NAMES = ("airspeed_mps", "altitude_m", "temperature_k", "recovery_factor")


def noisy_run(generator, count, noise_mps=1.0):
    """A run with own airspeeds, own altitudes, and ground vectors that do not quite fit."""
    readings = Readings(
        airspeed_mps=generator.uniform(35.0, 80.0) * generator.uniform(0.93, 1.07, count),
        altitude_m=generator.uniform(-200.0, 7000.0) + generator.normal(0.0, 20.0, count),
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


def residuals(unknown, east, north, readings):
    """The equations to be fulfilled, from the defining equations alone."""
    speed = true_airspeed_and_slope(readings, unknown[2])[0]
    return np.hypot(east - unknown[0], north - unknown[1]) - speed


def slopes(unknown, east, north, readings):
    """Jacobian of the residuals by central differences."""
    columns = []
    for column, step in enumerate((1e-4, 1e-4, 1e-6)):
        change = np.zeros(3)
        change[column] = step
        up = residuals(unknown + change, east, north, readings)
        down = residuals(unknown - change, east, north, readings)
        columns.append((up - down) / (2 * step))
    return np.stack(columns, axis=1)


@pytest.mark.parametrize("count", [3, 4, 5, 6, 7, 8])
def test_a_general_solver_finds_the_same_minimum(count):
    generator = np.random.default_rng(100 + count)
    for _ in range(20):
        run = noisy_run(generator, count)
        solution = solve_legs(*run)
        assert solution.converged[0]
        tight = 1e-15
        general = least_squares(
            residuals,
            np.zeros(3),
            slopes,
            args=run,
            method="lm",
            xtol=tight,
            ftol=tight,
            gtol=tight,
        )
        ours = [solution.wind_east_mps[0], solution.wind_north_mps[0], solution.kappa[0]]
        # It compares sums of squares, which no longer change in double precision some 1e-7
        # from the minimum; from there a few Gauss-Newton steps by differences go on.
        found = general.x
        np.testing.assert_allclose(ours, found, rtol=1e-6, atol=1e-6)
        for _ in range(4):
            off, jacobian = residuals(found, *run), slopes(found, *run)
            found = found - np.linalg.lstsq(jacobian, off, rcond=None)[0]
        np.testing.assert_allclose(ours, found, rtol=1e-8, atol=1e-8)
        np.testing.assert_allclose(solution.residual_mps[0], residuals(found, *run), atol=1e-8)


def test_the_jacobian_agrees_with_finite_differences():
    # The gain is (J'J)^-1 J', so its pseudo-inverse is the Jacobian that was used.
    generator = np.random.default_rng(8)
    for count in (3, 4, 6, 8):
        east, north, readings = noisy_run(generator, count)
        solution = solve_legs(east, north, readings)
        unknown = np.array(
            [solution.wind_east_mps[0], solution.wind_north_mps[0], solution.kappa[0]]
        )
        used = np.linalg.pinv(solution.gain[0])
        expected = slopes(unknown, east, north, readings)
        np.testing.assert_allclose(used, expected, rtol=2e-7, atol=2e-9)


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


def test_many_runs_at_once_equal_each_run_alone():
    generator = np.random.default_rng(10)
    runs = [noisy_run(generator, 4) for _ in range(40)]
    together = Readings(**{name: np.stack([getattr(r[2], name) for r in runs]) for name in NAMES})
    batch = solve_legs(np.stack([r[0] for r in runs]), np.stack([r[1] for r in runs]), together)
    for row, (east, north, readings) in enumerate(runs):
        alone = solve_legs(east, north, readings)
        for name in ("wind_east_mps", "wind_north_mps", "kappa", "residual_mps", "gain"):
            np.testing.assert_allclose(
                getattr(batch, name)[row], getattr(alone, name)[0], rtol=1e-10, atol=1e-11
            )
    assert batch.converged.all()
    assert batch.legs.tolist() == [4] * 40


@pytest.mark.parametrize("junk", [0.0, 55.0, np.nan])
def test_padding_a_run_changes_nothing(junk):
    generator = np.random.default_rng(11)
    east, north, readings = noisy_run(generator, 4)
    alone = solve_legs(east, north, readings)

    def pad(values):
        return np.append(values, [junk, junk, junk])

    padded = solve_legs(
        pad(east),
        pad(north),
        Readings(
            airspeed_mps=pad(readings.airspeed_mps),
            altitude_m=pad(readings.altitude_m),
            temperature_k=pad(readings.temperature_k),
            recovery_factor=pad(readings.recovery_factor),
        ),
        weight=[1, 1, 1, 1, 0, 0, 0],
    )
    assert padded.legs.tolist() == [4]
    assert padded.converged.all()
    for name in ("wind_east_mps", "wind_north_mps", "kappa"):
        assert getattr(padded, name)[0] == pytest.approx(getattr(alone, name)[0], rel=1e-11)
    np.testing.assert_allclose(padded.residual_mps[0, :4], alone.residual_mps[0], atol=1e-11)
    np.testing.assert_allclose(padded.gain[0, :, :4], alone.gain[0], rtol=1e-9, atol=1e-12)
    assert (padded.residual_mps[0, 4:] == 0.0).all()
    assert (padded.gain[0, :, 4:] == 0.0).all()


def test_runs_of_different_length_are_solved_side_by_side():
    generator = np.random.default_rng(12)
    short, long = noisy_run(generator, 3), noisy_run(generator, 6)

    def rows(first, second):
        return np.stack([np.append(first, np.zeros(3)), second])

    batch = solve_legs(
        rows(short[0], long[0]),
        rows(short[1], long[1]),
        Readings(**{n: rows(getattr(short[2], n), getattr(long[2], n)) for n in NAMES}),
        weight=[[1, 1, 1, 0, 0, 0], [1] * 6],
    )
    assert batch.legs.tolist() == [3, 6]
    for row, one in enumerate((short, long)):
        alone = solve_legs(*one)
        assert batch.kappa[row] == pytest.approx(alone.kappa[0], rel=1e-10)


@pytest.mark.parametrize("headings_deg", [[20.0], [20.0, 130.0], [0.0, 180.0, 0.0, 180.0]])
def test_a_run_that_cannot_be_solved_comes_back_empty(headings_deg):
    made = made_run(np.radians(headings_deg), alike(len(headings_deg)), 0.05, 0.0, 0.0)
    solution = solve_legs(made.east_mps, made.north_mps, made.readings)
    assert not solution.converged.any()
    assert np.isnan(solution.kappa).all()
    assert np.isnan(solution.wind_east_mps).all()
    assert np.isnan(solution.gain).all()


def test_an_unsolvable_run_does_not_spoil_its_neighbour():
    good = made_run(evenly(4), alike(4), 0.05, 8.0, 1.0)
    line = made_run(np.radians([0.0, 180.0, 0.0, 180.0]), alike(4), 0.05, 0.0, 0.0)
    both = solve_legs(
        np.stack([line.east_mps, good.east_mps]),
        np.stack([line.north_mps, good.north_mps]),
        Readings(**{n: np.stack([getattr(line.readings, n)] * 2) for n in NAMES}),
    )
    assert both.converged.tolist() == [False, True]
    assert both.kappa[1] == pytest.approx(0.05, abs=1e-10)


def test_readings_out_of_range_are_named():
    made = made_run(evenly(4), alike(4), 0.05, 8.0, 1.0)
    wrong = replace(made.readings, altitude_m=np.array([900.0, 900.0, 35000.0, 900.0]))
    with pytest.raises(OutOfRangeError, match="altitude 35000 m"):
        solve_legs(made.east_mps, made.north_mps, wrong)


def test_a_missing_reading_leaves_its_run_unsolved_and_says_so():
    made = made_run(evenly(4), alike(4), 0.05, 8.0, 1.0)
    wrong = replace(made.readings, temperature_k=np.array([281.0, np.nan, 281.0, 281.0]))
    solution = solve_legs(made.east_mps, made.north_mps, wrong)
    assert not solution.converged[0]
    assert np.isnan(solution.kappa[0])
