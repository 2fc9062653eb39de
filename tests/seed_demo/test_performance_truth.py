"""Power, propeller and drag of the invented aircraft obey what they are said to obey."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from seed_demo.performance_truth import (
    FIXED_PLANT,
    IDLE,
    PLANTS,
    TURBO_PLANT,
    Plant,
    best_speeds_kt,
    drag_n,
    rate_ftmin,
    shaft_power_w,
    sine_of_path,
    thrust_n,
)

KT = 1852.0 / 3600.0
WEIGHT_N = 600.0 * 9.80665
DENSITY = np.array([1.225])


def of(value: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([value])


def test_thrust_takes_all_of_the_useful_power_at_rest_and_in_flight() -> None:
    for speed in (0.0, 20.0, 45.0, 70.0):
        thrust = thrust_n(TURBO_PLANT, of(100000.0), of(speed), DENSITY)[0]
        # Momentum of the slipstream: mass through the disc times the speed given to it.
        induced = -speed / 2 + np.sqrt(speed**2 / 4 + thrust / (2 * 1.225 * 1.6))
        mass_flow = 1.225 * 1.6 * (speed + induced)
        assert mass_flow * 2.0 * induced == pytest.approx(thrust, rel=1e-6)
        assert thrust * (speed + induced) == pytest.approx(84000.0, rel=1e-6)


def test_static_thrust_is_the_closed_form_of_momentum_theory() -> None:
    thrust = thrust_n(FIXED_PLANT, of(60000.0), of(0.0), DENSITY)[0]
    assert thrust == pytest.approx((2 * 1.225 * 1.9 * (0.87 * 60000.0) ** 2) ** (1 / 3), rel=1e-6)


def test_drag_without_camber_has_its_least_where_both_kinds_are_equal() -> None:
    speeds = np.linspace(20.0, 60.0, 40001)
    drag = drag_n(FIXED_PLANT, np.full(40001, WEIGHT_N), speeds, DENSITY, idle=False)
    at = speeds[np.argmin(drag)]
    # With lift coefficient c: a + k (c - c0)^2 over c is least at c^2 = a/k + c0^2.
    best = np.sqrt(0.0265 * 7.6 + 0.12**2)
    assert at == pytest.approx(np.sqrt(2 * WEIGHT_N / (1.225 * 11.8 * best)), rel=1e-4)


def test_a_held_power_is_the_same_at_height_and_another_falls_and_suffers_from_heat() -> None:
    low, high = of(101325.0), of(80000.0)
    standard, warm = of(288.15), of(303.15)
    turbo = [
        shaft_power_w(TURBO_PLANT, "full power", of(40.0), p, standard)[0] for p in (low, high)
    ]
    assert turbo == [100000.0, 100000.0]
    plain = [
        shaft_power_w(FIXED_PLANT, "full power", of(60.0), p, t)[0]
        for p, t in ((low, standard), (high, standard), (low, warm))
    ]
    assert plain[0] == pytest.approx(75000.0)
    assert plain[1] < 0.8 * plain[0]
    assert plain[2] == pytest.approx(75000.0 * np.sqrt(288.15 / 303.15))


def test_a_glide_loses_height_as_drag_over_weight_says() -> None:
    sine = sine_of_path(FIXED_PLANT, IDLE, of(40.0), of(600.0), of(101325.0), of(288.15))[0]
    lift = WEIGHT_N * np.sqrt(1.0 - sine**2) / (0.5 * 1.225 * 40.0**2 * 11.8)
    drag = 0.5 * 1.225 * 40.0**2 * 11.8 * (0.0265 + 0.0085 + (lift - 0.12) ** 2 / 7.6)
    assert sine == pytest.approx(-drag / WEIGHT_N, rel=1e-5)


@pytest.mark.parametrize("plant", PLANTS, ids=lambda p: p.name)
def test_no_speed_beside_a_best_speed_is_better(plant: Plant) -> None:
    for tag in (*(state.tag for state in plant.states), IDLE):
        for name, best in best_speeds_kt(plant, tag, 2200.0).items():
            near = best + np.array([-8.0, -1.0, -0.2, 0.0, 0.2, 1.0, 8.0])
            rates = rate_ftmin(plant, tag, near, 2200.0)
            # True over calibrated airspeed changes by a part in ten thousand over so few knots.
            value = rates if name in ("best rate of climb", "least sink") else rates / near
            assert int(np.argmax(value)) in (2, 3, 4)
            assert value[3] > max(value[1], value[5])


@pytest.mark.parametrize("plant", PLANTS, ids=lambda p: p.name)
def test_best_speeds_are_ordered_as_the_theory_of_flight_orders_them(plant: Plant) -> None:
    glide = best_speeds_kt(plant, IDLE, 2200.0)
    assert 50.0 < glide["least sink"] < glide["best glide"] < 90.0
    for state in plant.states:
        climb = best_speeds_kt(plant, state.tag, 2200.0)
        assert 50.0 < climb["best angle of climb"] < climb["best rate of climb"] < 95.0
        assert climb["best angle of climb"] < glide["best glide"]


def test_more_weight_and_more_drag_climb_less() -> None:
    def rate(plant: Plant, weight: float) -> float:
        arguments = (of(40.0), of(weight), of(93000.0), of(284.0))
        return float(sine_of_path(plant, "full power", *arguments)[0])

    assert rate(TURBO_PLANT, 600.0) < rate(TURBO_PLANT, 540.0)
    assert rate(replace(TURBO_PLANT, parasite=0.03), 600.0) < rate(TURBO_PLANT, 600.0)
