"""PIW and VIW against the algebra they stand for, and density ratios against published ones."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.performance.generalised_power import (
    LevelFlight,
    abscissa_of,
    chart_power_of_the_day,
    density_ratio,
    doubt_of_coefficient,
    viw_of,
)

KT, FT = 1852.0 / 3600.0, 0.3048


def power_w(tas_mps, rho, weight_n, area=10.5, cd0=0.028, factor=22.0):
    """Power required of a parabolic polar, from drag times speed."""
    q_s = 0.5 * rho * tas_mps**2 * area
    return tas_mps * q_s * (cd0 + (weight_n / q_s) ** 2 / factor)


def test_all_altitudes_and_weights_of_a_parabolic_polar_fall_on_one_line() -> None:
    rng = np.random.default_rng(1)
    rho, tas = rng.uniform(0.7, 1.25, 200), rng.uniform(35.0, 80.0, 200)
    weight = rng.uniform(4000.0, 6000.0, 200)
    flight = LevelFlight(power_w(tas, rho, weight), tas / KT, rho / 1.225, weight / 5884.0)
    x, y = flight.abscissa(45.0), flight.coefficient(45.0)
    # by hand: a = rho0 S CD0 Vs^3/2, b = 2 Ws^2/(rho0 S pi e A Vs), and x has the factor 4
    vs = 45.0 * KT
    a = 0.5 * 1.225 * 10.5 * 0.028 * vs**3
    b = 2.0 * 5884.0**2 / (1.225 * 10.5 * 22.0 * vs)
    assert y == pytest.approx(a + b * x / 4.0, rel=1e-12)
    assert flight.piw == pytest.approx(power_w(flight.viw * KT, 1.225, 5884.0), rel=1e-12)


def test_at_sea_level_and_reference_weight_nothing_is_changed() -> None:
    flight = LevelFlight(*(np.array(v) for v in (0.75, 110.0, 1.0, 1.0)))
    assert (float(flight.piw), float(flight.viw)) == (0.75, 110.0)


def test_the_abscissa_is_a_quarter_at_twice_the_scaling_speed_and_turns_back() -> None:
    assert abscissa_of(90.0, 45.0) == 0.25
    speeds = np.array([60.0, 90.0, 140.0])
    assert viw_of(abscissa_of(speeds, 45.0), 45.0) == pytest.approx(speeds, rel=1e-14)


# U.S. Standard Atmosphere, 1976 (equal to ICAO's here), density ratio; 4-digit values from memory
# of the printed table, each agreeing with the closed form (1 - 6.8756e-6 h)^4.2559.
@pytest.mark.parametrize(
    ("altitude_ft", "ratio"), [(0.0, 1.0), (5000.0, 0.8617), (8000.0, 0.7860), (10000.0, 0.7385)]
)
def test_density_ratios_are_those_of_the_standard_atmosphere(
    altitude_ft: float, ratio: float
) -> None:
    found = float(density_ratio(altitude_ft * FT))
    assert found == pytest.approx(ratio, abs=5e-5)
    assert found == pytest.approx((1.0 - 6.8756e-6 * altitude_ft) ** 4.2559, abs=2e-5)


def test_warm_air_is_thinner_and_takes_power_from_a_chart() -> None:
    warm = 288.15 + 12.0
    assert float(density_ratio(0.0, warm)) == pytest.approx(288.15 / warm, rel=1e-6)
    # engine charts: about 1 % for 6 degC (common practice)
    assert float(chart_power_of_the_day(75.0, 0.0, 294.15)) == pytest.approx(75 * 0.99, abs=0.05)


def test_the_doubts_are_derivatives_of_the_distance_from_the_curve() -> None:
    a, b = 0.03, 0.08

    def distance(power=0.65, sigma=0.8, tas=105.0, weight=0.95):
        flight = LevelFlight(*(np.array(v) for v in (power, tas, sigma, weight)))
        return float(flight.coefficient(45.0) - a - b * flight.abscissa(45.0))

    at = {"power": 0.65, "sigma": 0.8, "tas": 105.0, "weight": 0.95}
    flight = LevelFlight(*(np.array(at[n]) for n in ("power", "tas", "sigma", "weight")))
    told = doubt_of_coefficient(flight.coefficient(45.0), b * flight.abscissa(45.0))
    for name, value in at.items():
        step = 1e-5
        slope = (
            distance(**{name: value * (1 + step)}) - distance(**{name: value * (1 - step)})
        ) / (2 * step)
        assert float(told[name]) == pytest.approx(slope, rel=1e-6), name
