"""Every term of the budget against solving the changed run anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.airdata.budget_runs import ASSUMED, STEPS, drift_of, flown, in_squares, solved, terms_of
from tests.airdata.run_maker import components

ROOT12 = np.sqrt(12.0)


def kappa_moved(legs, change):
    """How far a change of the legs moves kappa, by solving anew: central difference, whole size."""
    share = 1e-3
    up, down = change(share), change(-share)
    return float(solved(up).kappa[0] - solved(down).kappa[0]) / (2 * share)


def with_reading(legs, name, change):
    value = getattr(legs.readings, name)
    return replace(legs, readings=replace(legs.readings, **{name: value + change}))


def leg(count, index, size):
    """One leg changed and the others not."""
    return size * (np.arange(count) == index)


CASES = [(3, 4.0), (4, 11.0), (4, 24.0), (6, 15.0)]


@pytest.mark.parametrize(("count", "wind_mps"), CASES)
@pytest.mark.parametrize(
    ("term", "reading", "u"),
    [
        ("outside-air temperature", "temperature_k", ASSUMED.u_temperature_k),
        ("recovery factor", "recovery_factor", ASSUMED.u_recovery_factor),
        ("airspeed indicator", "airspeed_mps", ASSUMED.u_airspeed_mps),
        ("altimeter", "altitude_m", ASSUMED.u_altitude_m),
    ],
)
def test_a_shared_term_is_what_the_solve_answers_with_sign(count, wind_mps, term, reading, u):
    legs = flown(count, wind_mps)
    moved = kappa_moved(legs, lambda share: with_reading(legs, reading, share * u))
    assert terms_of(legs)[term].u_kappa == pytest.approx(moved, rel=1e-4)


@pytest.mark.parametrize(("count", "wind_mps"), CASES)
@pytest.mark.parametrize(
    ("term", "reading", "step"),
    [
        ("altitude rounding", "altitude_m", STEPS["altitude"]),
        ("temperature rounding", "temperature_k", STEPS["temperature"]),
    ],
)
def test_rounding_common_to_all_legs_is_what_the_solve_answers(
    count, wind_mps, term, reading, step
):
    legs = flown(count, wind_mps)
    moved = kappa_moved(legs, lambda share: with_reading(legs, reading, share * step / ROOT12))
    assert abs(terms_of(legs)[term].u_kappa) == pytest.approx(abs(moved), rel=1e-4)


@pytest.mark.parametrize(("count", "wind_mps"), CASES)
def test_airspeed_rounding_is_what_the_solve_answers_number_by_number(count, wind_mps):
    # Legs held on one and the same logged number share one error.
    legs = flown(count, wind_mps)
    size = STEPS["airspeed"] / ROOT12
    numbers = np.round(legs.readings.airspeed_mps / STEPS["airspeed"])
    moved = []
    for number in np.unique(numbers):
        of_number = np.where(numbers == number, size, 0.0)
        moved.append(
            kappa_moved(
                legs,
                lambda share, some=of_number: with_reading(legs, "airspeed_mps", share * some),
            )
        )
    assert terms_of(legs)["airspeed rounding"].u_kappa == pytest.approx(in_squares(moved), rel=1e-4)


@pytest.mark.parametrize(("count", "wind_mps"), CASES)
def test_ground_speed_error_is_what_the_solve_answers_leg_by_leg(count, wind_mps):
    # The receiver's error has two components alike; only the one along the air vector tells.
    legs = flown(count, wind_mps)
    u = ASSUMED.u_ground_speed_mps
    moved = []
    for i in range(count):
        for name in ("east_mps", "north_mps"):

            def change(share, i=i, name=name):
                return replace(legs, **{name: getattr(legs, name) + leg(count, i, share * u)})

            moved.append(kappa_moved(legs, change))
    assert terms_of(legs)["ground speed"].u_kappa == pytest.approx(in_squares(moved), rel=1e-4)


@pytest.mark.parametrize(("count", "wind_mps"), CASES)
def test_rounding_of_ground_speed_and_track_is_what_the_solve_answers(count, wind_mps):
    legs = flown(count, wind_mps)
    speed = np.hypot(legs.east_mps, legs.north_mps)
    track = np.arctan2(legs.east_mps, legs.north_mps)

    def changed(more_speed, more_track):
        east, north = components(speed + more_speed, track + more_track)
        return replace(legs, east_mps=east, north_mps=north)

    by_speed = [
        kappa_moved(
            legs,
            lambda share, i=i: changed(leg(count, i, share * STEPS["ground_speed"] / ROOT12), 0.0),
        )
        for i in range(count)
    ]
    by_track = [
        kappa_moved(
            legs, lambda share, i=i: changed(0.0, leg(count, i, share * STEPS["track"] / ROOT12))
        )
        for i in range(count)
    ]
    terms = terms_of(legs)
    assert terms["ground speed rounding"].u_kappa == pytest.approx(in_squares(by_speed), rel=1e-4)
    assert terms["track rounding"].u_kappa == pytest.approx(in_squares(by_track), rel=1e-4)


@pytest.mark.parametrize(("count", "wind_mps"), CASES)
def test_wind_drift_is_what_the_solve_answers(count, wind_mps):
    legs = flown(count, wind_mps)
    moved = []
    for name in ("east_mps", "north_mps"):

        def change(share, name=name):
            drift = share * ASSUMED.u_wind_drift_mps2 * legs.middle_s
            return replace(legs, **{name: getattr(legs, name) + drift})

        moved.append(kappa_moved(legs, change))
    terms = terms_of(legs)
    told = [terms["wind drift east"].u_kappa, terms["wind drift north"].u_kappa]
    # one sign for both: what the sortie shares must add up from run to run
    assert told == pytest.approx([-effect for effect in moved], rel=1e-4) or told == pytest.approx(
        moved, rel=1e-4
    )


def test_when_the_flight_began_does_not_matter_to_wind_drift():
    legs = flown()
    later = replace(legs, middle_s=legs.middle_s + 5000.0)
    assert drift_of(later) == pytest.approx(drift_of(legs), rel=1e-9)


def test_legs_held_on_one_number_share_their_rounding_error():
    legs = flown(4, 8.0)
    readings = replace(legs.readings, airspeed_mps=np.full(4, 60.0))
    same = terms_of(replace(legs, readings=readings))["airspeed rounding"].u_kappa
    apart = replace(legs.readings, airspeed_mps=60.0 + STEPS["airspeed"] * np.arange(4))
    different = terms_of(replace(legs, readings=apart))["airspeed rounding"].u_kappa
    # four nearly equal effects e: together 4 e, apart 2 e
    assert same / different == pytest.approx(2.0, rel=0.1)
