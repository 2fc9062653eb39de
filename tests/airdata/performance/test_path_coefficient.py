from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.performance.path_coefficient import (
    BEST_ANGLE,
    BEST_RATE,
    THRUST_POWER_GROWTH,
    at_reference_weight,
    path_coefficient,
    rate_from_coefficient,
)
from tests.airdata.performance.parabolic_polar import Polar

POLAR = Polar(0.032, 0.75, 9.0, 11.0)
GRAVITY, REFERENCE, SCALING = 9.80665, 600.0, 23.0
TAS = np.linspace(26.0, 65.0, 200)


def lift(tas, air, weight):
    return (SCALING / (tas * np.sqrt(air / 1.225))) ** 2 * weight / REFERENCE


def glide(weight, air):
    return np.array([-POLAR.sink(v, weight * GRAVITY, air) for v in TAS])


def test_glides_of_any_weight_and_density_lie_on_one_parabola():
    curves = []
    for weight, air in ((600.0, 1.0), (520.0, 1.0), (520.0, 1.2)):
        s = lift(TAS, air, weight)
        y = path_coefficient(glide(weight, air), TAS, s)
        curves.append(np.polynomial.polynomial.polyfit(s, y, 2))
        assert np.polynomial.polynomial.polyval(s, curves[-1]) == pytest.approx(y, rel=1e-9)
    assert curves[1] == pytest.approx(curves[0], rel=1e-8, abs=1e-12)
    assert curves[2] == pytest.approx(curves[0], rel=1e-8, abs=1e-12)


def test_climbs_of_constant_power_are_a_parabola_within_a_few_feet_per_minute():
    air, power = 1.0, 50e3
    s = lift(TAS, air, 600.0)
    rate = power / (600.0 * GRAVITY) + glide(600.0, air)
    y = path_coefficient(rate, TAS, s)
    u = s / TAS  # every rate counts alike
    fitted = np.polynomial.polynomial.polyfit(s, y, 2, w=1.0 / u)
    back = rate_from_coefficient(np.polynomial.polynomial.polyval(s, fitted), TAS, s)
    assert np.max(np.abs(back - rate)) / 0.00508 < 60.0
    assert np.sqrt(np.mean((back - rate) ** 2)) / 0.00508 < 20.0


@pytest.mark.parametrize("weight", [500.0, 560.0, 640.0])
def test_a_climb_at_any_weight_gives_the_number_of_reference_weight(weight):
    air, power = 1.05, 45e3
    s = lift(TAS, air, weight)
    thrust = power / (weight * GRAVITY)
    y = path_coefficient(thrust + glide(weight, air), TAS, s)
    told = at_reference_weight(y, thrust, TAS, s, weight / REFERENCE, growth=0.0)
    same = TAS * np.sqrt(REFERENCE / weight)  # at the same lift coefficient
    sink = np.array([POLAR.sink(v, REFERENCE * GRAVITY, air) for v in same])
    truth = path_coefficient(power / (REFERENCE * GRAVITY) - sink, same, s)
    assert told == pytest.approx(truth, rel=1e-9, abs=1e-12)
    assert np.max(np.abs(y - truth)) > 0.003


def thrust_of(power, tas, air, disc=1.6):
    """Solve momentum theory, thrust (V + w) = power, by a fixed-point iteration."""
    thrust = power / tas
    for _ in range(200):
        thrust = power / (0.5 * tas + np.sqrt(0.25 * tas**2 + thrust / (2.0 * air * disc)))
    return thrust


def test_the_thrust_power_of_a_propeller_grows_with_airspeed_about_as_assumed():
    tas, step = np.array([30.0, 38.0, 46.0]), 0.01
    for power in (55e3, 85e3):
        powers = [thrust_of(power, v, 1.1) * v for v in (tas - step, tas + step)]
        slope = np.log(powers[1] / powers[0]) / np.log((tas + step) / (tas - step))
        x = 2.0 * power / (0.5 * sum(powers)) - 1.0
        assert slope == pytest.approx(3.0 * (x - 1.0) / (3.0 * x - 1.0), rel=1e-3)
        assert np.all(np.abs(slope - THRUST_POWER_GROWTH["constant speed"]) < 0.2)


@pytest.mark.parametrize("weight", [540.0, 640.0])
def test_a_climb_on_a_propeller_is_brought_to_reference_weight_at_every_airspeed(weight):
    air, power, middle = 1.1, 84e3, 38.0
    tas = np.linspace(30.0, 48.0, 10)
    s = lift(tas, air, weight)
    sink = np.array([POLAR.sink(v, weight * GRAVITY, air) for v in tas])
    climb = thrust_of(power, tas, air) * tas / (weight * GRAVITY) - sink
    same = tas * np.sqrt(REFERENCE / weight)
    sink = np.array([POLAR.sink(v, REFERENCE * GRAVITY, air) for v in same])
    truth = thrust_of(power, same, air) * same / (REFERENCE * GRAVITY) - sink
    # The pilot's one figure is for the middle of the speeds; it grows from there.
    known = thrust_of(power, middle, air) * middle / (weight * GRAVITY)
    y = path_coefficient(climb, tas, s)
    told = {
        growth: rate_from_coefficient(
            at_reference_weight(
                y, known * (tas / middle) ** growth, tas, s, weight / REFERENCE, growth=growth
            ),
            same,
            s,
        )
        for growth in (0.0, THRUST_POWER_GROWTH["constant speed"])
    }
    off = {growth: np.max(np.abs(rate - truth)) / 0.00508 for growth, rate in told.items()}
    assert off[THRUST_POWER_GROWTH["constant speed"]] < 25.0
    assert off[0.0] > 3.0 * off[THRUST_POWER_GROWTH["constant speed"]]


def test_the_powers_of_s_are_those_of_rate_and_angle():
    s = lift(TAS, 1.0, 600.0)
    rate = 45e3 / (600.0 * GRAVITY) + glide(600.0, 1.0)
    y = path_coefficient(rate, TAS, s)
    assert np.argmax(y / s**BEST_RATE) == np.argmax(rate)
    assert np.argmax(y / s**BEST_ANGLE) == np.argmax(rate / TAS)
