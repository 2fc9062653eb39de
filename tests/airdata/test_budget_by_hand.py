"""Every term of the budget against solving the changed flight anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.wind_strengths import AirPrior
from tests.airdata.budget_runs import ASSUMED, STEPS, flown, in_squares, solved, terms_of
from tests.airdata.run_maker import components

ROOT12 = np.sqrt(12.0)
#: Legs have the slope of the airspeed meant, a few hundredths from their own: gains are right to
#: some thousandths.
NEAR = 5e-3


def flight(counts, wind_mps):
    """One run or more in one wind, at airspeeds of their own."""
    return [
        flown(count, wind_mps, 0.06 - 0.04 * place, 0.3, 50.0 + 7.0 * place, 900.0 * place)
        for place, count in enumerate(counts)
    ]


def kappa_moved(runs, group, change):
    """How far a change of all legs moves kappa, by solving anew: central difference, full size."""
    share = 1e-2
    up, down = (
        solved(*(change(run, place, part) for place, run in enumerate(runs)))
        for part in (share, -share)
    )
    return float(up.kappa[group] - down.kappa[group]) / (2 * share)


def with_reading(legs, name, change):
    value = getattr(legs.readings, name)
    return replace(legs, readings=replace(legs.readings, **{name: value + change}))


def each_leg(runs):
    """Run and leg of each leg of a flight."""
    return [(place, leg) for place, run in enumerate(runs) for leg in range(len(run.east_mps))]


def of_leg(run, place, at, size):
    """So much at one leg of one run and nothing elsewhere."""
    return size * (np.arange(len(run.east_mps)) == at[1]) * (place == at[0])


CASES = [((3,), 4.0, 0), ((6,), 24.0, 0), ((3, 4), 11.0, 0), ((3, 4), 11.0, 1)]


@pytest.mark.parametrize(("counts", "wind_mps", "group"), CASES)
@pytest.mark.parametrize(
    ("term", "reading", "u"),
    [
        ("outside-air temperature", "temperature_k", ASSUMED.u_temperature_k),
        ("recovery factor", "recovery_factor", ASSUMED.u_recovery_factor),
        ("airspeed indicator", "airspeed_mps", ASSUMED.u_airspeed_mps),
        ("altimeter", "altitude_m", ASSUMED.u_altitude_m),
    ],
)
def test_a_shared_term_is_what_the_solve_answers_with_sign(
    counts, wind_mps, group, term, reading, u
):
    runs = flight(counts, wind_mps)
    moved = kappa_moved(runs, group, lambda run, _, share: with_reading(run, reading, share * u))
    assert terms_of(*runs, group=group)[term].u_kappa == pytest.approx(moved, rel=NEAR)


@pytest.mark.parametrize(("counts", "wind_mps", "group"), CASES)
@pytest.mark.parametrize(
    ("term", "reading", "step"),
    [
        ("altitude rounding", "altitude_m", STEPS["altitude"]),
        ("temperature rounding", "temperature_k", STEPS["temperature"]),
    ],
)
def test_rounding_common_to_all_legs_is_what_the_solve_answers(
    counts, wind_mps, group, term, reading, step
):
    runs = flight(counts, wind_mps)
    moved = kappa_moved(
        runs, group, lambda run, _, share: with_reading(run, reading, share * step / ROOT12)
    )
    found = terms_of(*runs, group=group)[term].u_kappa
    assert abs(found) == pytest.approx(abs(moved), rel=NEAR)


@pytest.mark.parametrize(("counts", "wind_mps", "group"), CASES)
def test_airspeed_rounding_is_what_the_solve_answers_number_by_number(counts, wind_mps, group):
    # Legs held on one and the same logged number share one error.
    runs = flight(counts, wind_mps)
    size = STEPS["airspeed"] / ROOT12

    def numbers(run):
        return np.round(run.readings.airspeed_mps / STEPS["airspeed"])

    moved = [
        kappa_moved(
            runs,
            group,
            lambda run, _, share, number=number: with_reading(
                run, "airspeed_mps", share * size * (numbers(run) == number)
            ),
        )
        for number in np.unique(np.concatenate([numbers(run) for run in runs]))
    ]
    found = terms_of(*runs, group=group)["airspeed rounding"].u_kappa
    assert found == pytest.approx(in_squares(moved), rel=NEAR)


@pytest.mark.parametrize(("counts", "wind_mps", "group"), CASES)
def test_rounding_of_ground_speed_and_track_is_what_the_solve_answers(counts, wind_mps, group):
    runs = flight(counts, wind_mps)

    def changed(run, more_speed, more_track):
        speed = np.hypot(run.east_mps, run.north_mps)
        track = np.arctan2(run.east_mps, run.north_mps)
        east, north = components(speed + more_speed, track + more_track)
        return replace(run, east_mps=east, north_mps=north)

    by_speed, by_track = [], []
    for at in each_leg(runs):

        def faster(run, place, share, at=at):
            return changed(run, of_leg(run, place, at, share * STEPS["ground_speed"] / ROOT12), 0.0)

        def turned(run, place, share, at=at):
            return changed(run, 0.0, of_leg(run, place, at, share * STEPS["track"] / ROOT12))

        by_speed.append(kappa_moved(runs, group, faster))
        by_track.append(kappa_moved(runs, group, turned))
    terms = terms_of(*runs, group=group)
    assert terms["ground speed rounding"].u_kappa == pytest.approx(in_squares(by_speed), rel=NEAR)
    assert terms["track rounding"].u_kappa == pytest.approx(in_squares(by_track), rel=NEAR)


@pytest.mark.parametrize(("counts", "wind_mps", "group"), CASES)
def test_the_gain_of_a_flight_is_how_kappa_answers_to_each_leg(counts, wind_mps, group):
    runs = flight(counts, wind_mps)
    wind = components(-wind_mps, 2.0)
    moved = []
    for at in each_leg(runs):

        def longer(run, place, share, at=at):
            more = of_leg(run, place, at, share)
            air = run.east_mps - wind[0], run.north_mps - wind[1]
            size = np.hypot(*air)
            return replace(
                run,
                east_mps=run.east_mps + more * air[0] / size,
                north_mps=run.north_mps + more * air[1] / size,
            )

        moved.append(kappa_moved(runs, group, longer))
    gain = solved(*runs).gain[group]
    np.testing.assert_allclose(gain, -np.array(moved), rtol=2e-2, atol=2e-2 * np.abs(gain).max())


def fixed(drift_mps2):
    """A prior of one combination: a wind that hardly walks, and drifts so much."""
    return AirPrior(noise=(1.0,), wander_kt=(0.01,), drift_mps2=drift_mps2, drift_times=(1.0,))


@pytest.mark.parametrize("wind_mps", [4.0, 11.0, 24.0])
def test_wind_drift_is_what_the_solve_answers(wind_mps):
    # Three legs are met whatever the drift is, so it moves kappa as much as it can.
    (legs,) = flight((3,), wind_mps)
    drift = 7e-4
    moved = []
    for name in ("east_mps", "north_mps"):

        def change(run, _, share, name=name):
            return replace(
                run, **{name: getattr(run, name) + share * drift * (run.middle_s - 145.0)}
            )

        moved.append(kappa_moved([legs], 0, change))
    still, drifting = (solved(legs, prior=fixed(each)).covariance[0, 0] for each in (1e-9, drift))
    assert np.sqrt(drifting - still) == pytest.approx(in_squares(moved), rel=1e-2)


def test_when_the_flight_began_does_not_matter():
    legs = flown(4)
    later = replace(legs, middle_s=legs.middle_s + 5000.0)
    one, other = solved(legs), solved(later)
    assert other.covariance[0, 0] == pytest.approx(one.covariance[0, 0], rel=1e-6)
    assert other.kappa[0] == pytest.approx(one.kappa[0], abs=1e-9)


def test_legs_held_on_one_number_share_their_rounding_error():
    legs = flown(4, 8.0)
    readings = replace(legs.readings, airspeed_mps=np.full(4, 60.0))
    same = terms_of(replace(legs, readings=readings))["airspeed rounding"].u_kappa
    apart = replace(legs.readings, airspeed_mps=60.0 + STEPS["airspeed"] * np.arange(4))
    different = terms_of(replace(legs, readings=apart))["airspeed rounding"].u_kappa
    # four nearly equal effects e: together 4 e, apart 2 e
    assert same / different == pytest.approx(2.0, rel=0.1)
