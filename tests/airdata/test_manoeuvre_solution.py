"""Turns and boxes solved sample by sample, with a wind that may drift or change with height."""

from dataclasses import replace

import numpy as np
import pytest
from fleetcal.airdata.manoeuvre_budget import manoeuvre_budget
from fleetcal.airdata.manoeuvre_solution import solve_manoeuvre

from fleetcal.airdata.budget import Assumptions, combine
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.units import MPS_PER_KT as KT
from seed_demo.gusts import remembering
from tests.airdata.simulations.flown import (
    KAPPA,
    RECOVERY,
    TEMPERATURE_K,
    Air,
    fly,
    readings,
)


def _turn(seed, seconds=240, gust_kt=0.0):
    rng = np.random.default_rng(seed)
    time_s = np.arange(float(seconds))
    return fly(rng, 1, time_s, np.radians(3.0 * time_s), Air(gust_kt=gust_kt))


@pytest.mark.parametrize("seed", range(5))
def test_a_turn_without_noise_is_solved_exactly(seed):
    flown = _turn(seed)
    found = solve_manoeuvre(
        flown.time_s, flown.east_mps[0], flown.north_mps[0], readings(flown.indicated_mps[0])
    )
    assert found.converged
    assert found.kappa == pytest.approx(KAPPA, abs=1e-9)
    np.testing.assert_allclose(found.residual_mps, 0.0, atol=1e-8)


def test_a_drifting_wind_is_seen_and_a_steady_one_is_not_called_drifting():
    drift = np.array([0.02, -0.01])  # m/s per s
    named: dict[float, list[str]] = {0.0: [], 1.0: []}
    for share in named:
        for seed in range(20):
            flown = _turn(seed, gust_kt=0.4)
            since = flown.time_s - flown.time_s.mean()
            found = solve_manoeuvre(
                flown.time_s,
                flown.east_mps[0] + share * drift[0] * since,
                flown.north_mps[0] + share * drift[1] * since,
                readings(flown.indicated_mps[0]),
            )
            named[share].append(found.wind_model)
            if found.wind_model == "drifting" and share:
                np.testing.assert_allclose(found.drift_mps2, drift, atol=0.008)
    # chance calls a steady wind drifting now and then; 20 flights allow four
    assert named[0.0].count("steady") >= 16
    assert named[1.0].count("drifting") >= 19


def test_a_wind_that_grows_with_height_is_seen_in_a_climbing_turn():
    rng = np.random.default_rng(3)
    time_s = np.arange(480.0)
    height = 600.0 + 1.5 * time_s
    heading = np.radians(3.0 * time_s)
    indicated = np.full(480, 48.0)
    air = Readings(
        airspeed_mps=indicated,
        altitude_m=height,
        temperature_k=np.full(480, TEMPERATURE_K),
        recovery_factor=np.full(480, RECOVERY),
    )
    static, impact = air.pressures()
    true, _ = true_airspeed_for(
        static, impact, air.temperature_k, air.recovery_factor, np.array(KAPPA)
    )
    wind_east = 4.0 + 0.01 * (height - height.mean())
    gust = remembering(rng, (2, 480), 0.3 * KT, 10.0, 1.0)
    found = solve_manoeuvre(
        time_s,
        true * np.sin(heading) + wind_east + gust[0],
        true * np.cos(heading) - 2.0 + gust[1],
        air,
    )
    # time and height go together in a steady climb: either name is the truth
    assert found.wind_model in ("drifting", "sheared")
    steady = solve_manoeuvre(
        time_s,
        true * np.sin(heading) + wind_east + gust[0],
        true * np.cos(heading) - 2.0 + gust[1],
        air,
        "steady",
    )
    assert np.std(found.residual_mps) < 0.5 * np.std(steady.residual_mps)
    assert abs(found.kappa - KAPPA) < 3.0 * found.u_kappa


def test_flight_on_one_track_is_not_solved():
    flown = _turn(1)
    straight = flown.true_mps[0] * 0.0 + 50.0
    found = solve_manoeuvre(
        flown.time_s, straight, 0.0 * straight, readings(flown.indicated_mps[0])
    )
    assert not found.converged


def test_the_budget_names_its_terms_and_says_whose_errors_last():
    flown = _turn(2, gust_kt=0.4)
    air = readings(flown.indicated_mps[0])
    found = solve_manoeuvre(flown.time_s, flown.east_mps[0], flown.north_mps[0], air, "steady")
    terms = {t.name: t for t in manoeuvre_budget(flown.time_s, air, found, {}, Assumptions())}
    assert {name: t.owner for name, t in terms.items() if t.owner != "point"} == {
        "wind drift east": "sortie",
        "wind drift north": "sortie",
        "outside-air temperature": "airframe",
        "recovery factor": "fleet",
        "humidity": "sortie",
        "airspeed indicator": "airframe",
        "altimeter": "airframe",
    }
    assert terms["sample scatter"].u_kappa == pytest.approx(found.u_kappa)
    total, freedom = combine(tuple(terms.values()))
    assert total > found.u_kappa
    assert freedom > found.degrees_of_freedom
    # a warmer probe by one kelvin: solve again and see kappa move by the term
    warm = replace(air, temperature_k=air.temperature_k + 1.0)
    moved = solve_manoeuvre(flown.time_s, flown.east_mps[0], flown.north_mps[0], warm, "steady")
    assert abs(moved.kappa - found.kappa) == pytest.approx(
        abs(terms["outside-air temperature"].u_kappa), rel=0.02
    )
