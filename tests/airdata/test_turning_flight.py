"""Turns and boxes solved piece by piece, in a wind that drifts or changes with height."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions, air_prior, combine, group_budget
from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import STILL
from fleetcal.units import MPS_PER_KT as KT
from seed_demo.gusts import carried_along, remembering
from tests.airdata.simulations.flown import (
    KAPPA,
    RECOVERY,
    TEMPERATURE_K,
    Air,
    fly,
    indicated_of,
    readings,
)

MOVING = air_prior(Assumptions())


def turn(seed, seconds=240, gust_kt=0.0, rate_deg=3.0):
    """One turning flight as a stretch, with the mean true slope by kappa."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(float(seconds))
    flown = fly(rng, 1, time_s, np.radians(rate_deg * time_s), Air(gust_kt=gust_kt))
    return Stretch(
        group=0,
        time_s=flown.time_s,
        east_mps=flown.east_mps[0],
        north_mps=flown.north_mps[0],
        readings=readings(flown.indicated_mps[0]),
    )


def drifted(flown, drift_mps2):
    since = flown.time_s - flown.time_s.mean()
    return replace(
        flown,
        east_mps=flown.east_mps + drift_mps2[0] * since,
        north_mps=flown.north_mps + drift_mps2[1] * since,
    )


@pytest.mark.parametrize("prior", [STILL, MOVING], ids=["still", "moving"])
@pytest.mark.parametrize("seed", range(5))
def test_a_turn_without_noise_is_solved_exactly(seed, prior):
    found = solve_pieces(cut([turn(seed)]), prior)
    assert found.converged
    assert found.kappa[0] == pytest.approx(KAPPA, abs=1e-8)
    np.testing.assert_allclose(found.looked.over_mps, 0.0, atol=1e-6)


def test_a_drifting_wind_is_followed_and_a_steady_one_is_not_called_drifting():
    drift = np.array([0.02, -0.01])  # m/s per s: 26 kt in ten minutes
    for seed in range(8):
        flown = turn(seed, gust_kt=0.4)
        steady, moving = (
            solve_pieces(cut([drifted(flown, share * drift)]), MOVING) for share in (0.0, 1.0)
        )
        assert steady.drift_kt < 5.0
        assert moving.drift_kt == pytest.approx(np.hypot(*drift) * 600.0 / KT, rel=0.35)
        rate = np.polyfit(moving.pieces.time_s, moving.wind_mps, 1)[0]
        np.testing.assert_allclose(rate, drift, atol=0.008)
        # by one constant wind it would be off
        constant = solve_pieces(cut([drifted(flown, drift)]), STILL)
        assert np.std(moving.looked.over_mps) < 0.5 * np.std(constant.looked.over_mps)


def climbing_turn(gust_kt=0.3):
    """480 s upwards at 1.5 m/s through a wind that grows by 0.01 m/s for each metre."""
    rng = np.random.default_rng(3)
    time_s = np.arange(480.0)
    height = 600.0 + 1.5 * time_s
    heading = np.radians(3.0 * time_s)
    air = Readings(
        airspeed_mps=np.full(480, 48.0),
        altitude_m=height,
        temperature_k=np.full(480, TEMPERATURE_K),
        recovery_factor=np.full(480, RECOVERY),
    )
    static, impact = air.pressures()
    true, _ = true_airspeed_for(
        static, impact, air.temperature_k, air.recovery_factor, np.array(KAPPA)
    )
    wind_east = 4.0 + 0.01 * (height - height.mean())
    gust = remembering(rng, (2, 480), gust_kt * KT, 10.0, 1.0)
    return Stretch(
        group=0,
        time_s=time_s,
        east_mps=true * np.sin(heading) + wind_east + gust[0],
        north_mps=true * np.cos(heading) - 2.0 + gust[1],
        readings=air,
    )


def test_a_wind_that_grows_with_height_is_followed_in_a_climbing_turn():
    flown = climbing_turn()
    found = solve_pieces(cut([flown]), MOVING)
    height = found.pieces.height_m
    np.testing.assert_allclose(
        found.wind_mps[:, 0], 4.0 + 0.01 * (height - flown.readings.altitude_m.mean()), atol=0.5
    )
    np.testing.assert_allclose(found.wind_mps[:, 1], -2.0, atol=0.5)
    assert abs(found.kappa[0] - KAPPA) < 3.0 * np.sqrt(found.covariance[0, 0])


def test_flight_on_one_track_says_that_it_knows_nothing():
    flown = turn(1)
    straight = replace(flown, east_mps=np.full(240, 50.0), north_mps=np.zeros(240))
    found = solve_pieces(cut([straight]), MOVING)
    assert not found.converged or np.sqrt(found.covariance[0, 0]) > 1.0


def mirrored_turns(seed, gust_mps=2.0, seconds=240):
    """Two circles twice: in gusts, and in the same gusts from the other side."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(float(seconds))
    gust = remembering(rng, (2, seconds), gust_mps, 8.0, 1.0)
    heading = rng.uniform(0.0, 6.0) + np.radians(3.0 * time_s)
    static, impact = readings(np.full(seconds, 48.0)).pressures()
    held, _ = true_airspeed_for(
        static, impact, np.array(TEMPERATURE_K), np.array(RECOVERY), np.array(KAPPA)
    )
    for met in (gust, -gust):
        through = (
            held * np.stack([np.sin(heading), np.cos(heading)]) + carried_along(met, 1.0) - met
        )
        east, north = through + met + np.array([[6.0], [-4.0]])
        yield Stretch(
            group=0,
            time_s=time_s,
            east_mps=east,
            north_mps=north,
            readings=readings(indicated_of(np.hypot(*through))),
        )


# Errors in variables: a gust is in the airspeed and hardly in the ground vector. If it came into
# the weights as well it would move every kappa to one side, by (2 m/s / 50 m/s)^2 = 0.0016. What
# mirrored gusts do to the other side cancels, and this does not.
@pytest.mark.long
def test_gusts_that_the_pitot_feels_do_not_bias_two_full_circles():
    pairs = [list(mirrored_turns(seed)) for seed in range(40)]
    off = np.array(
        [[solve_pieces(cut([one]), STILL).kappa[0] for one in pair] for pair in pairs]
    ).mean(axis=1)
    error = np.std(off) / np.sqrt(len(off))
    assert error < 0.0002
    assert abs(off.mean() - KAPPA) < 0.0003
    # sample by sample, each with its own slope, it is seen: else this could not fail
    assert np.mean([biased(one) for pair in pairs for one in pair]) < -0.0012


def biased(flown):
    """Error of plain least squares sample by sample, each with its own slope by kappa."""
    unknown = np.array([flown.east_mps.mean(), flown.north_mps.mean(), 0.0])
    for _ in range(8):
        east, north = flown.east_mps - unknown[0], flown.north_mps - unknown[1]
        length = np.hypot(east, north)
        speed, slope = flown.readings.true_airspeed(unknown[2])
        jacobian = np.column_stack([-east / length, -north / length, -slope])
        unknown = unknown - np.linalg.lstsq(jacobian, length - speed, rcond=None)[0]
    return unknown[2] - KAPPA


def test_the_budget_names_its_terms_and_says_whose_errors_last():
    flown = turn(2, gust_kt=0.4)
    found = solve_pieces(cut([flown]), MOVING)
    terms = {term.name: term for term in group_budget(found, 0, {}, Assumptions())}
    assert {name: t.owner for name, t in terms.items() if t.owner != "point"} == {
        "outside-air temperature": "airframe",
        "recovery factor": "fleet",
        "humidity": "sortie",
        "airspeed indicator": "airframe",
        "altimeter": "airframe",
    }
    u_kappa = np.sqrt(found.covariance[0, 0])
    assert terms["leg scatter"].u_kappa == pytest.approx(u_kappa)
    total, freedom = combine(tuple(terms.values()))
    assert total > u_kappa
    assert freedom > found.freedom[0]
    # a warmer probe by one kelvin: solve again and see kappa move by the term
    warm = replace(flown.readings, temperature_k=flown.readings.temperature_k + 1.0)
    moved = solve_pieces(cut([replace(flown, readings=warm)]), MOVING)
    assert moved.kappa[0] - found.kappa[0] == pytest.approx(
        terms["outside-air temperature"].u_kappa, rel=0.03
    )
