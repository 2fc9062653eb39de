"""Climbs carried to another weight by the drag that glides show."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.performance.glide_slope import fit_glide_slope
from fleetcal.airdata.performance.path_coefficient import THRUST_POWER_GROWTH, path_coefficient
from fleetcal.errors import FitError

G_FT, KT_FT = 32.174, 1.68781
# Fixed-pitch trainer of 2,400 lb at sea level, V in ft/s: thrust E + F V^2, drag G V^2 + H/V^2 with
# H for 2,400 lb. Source: J. T. Lowry, Journal of Aviation/Aerospace Education & Research 6(1),
# 1995; the numbers are from memory.
E, F, DRAG_G, DRAG_H, POUNDS = 531.9, -0.0052368, 0.0076516, 1_668_535.0, 2400.0
SCALING_FT = 45.0 * KT_FT


def rate(tas, pounds, power=True):
    """Rate of climb, ft/s, of the four constants; the glide without thrust."""
    thrust = E + F * tas**2 if power else 0.0
    drag = DRAG_G * tas**2 + DRAG_H * (pounds / POUNDS) ** 2 / tas**2
    return tas * (thrust - drag) / pounds


def lift(tas, pounds):
    return (SCALING_FT / tas) ** 2 * pounds / POUNDS


def coefficients(tas, pounds, power=True):
    return path_coefficient(rate(tas, pounds, power), tas, lift(tas, pounds))


def glides(pounds):
    tas = np.linspace(60.0, 110.0, 7) * KT_FT
    s = lift(tas, pounds)
    return fit_glide_slope(s, coefficients(tas, pounds, power=False), np.full(7, 1e-3), np.zeros(7))


@pytest.mark.parametrize("share", [0.80, 0.92, 1.08])
def test_a_climb_at_another_weight_is_carried_exactly_without_knowing_the_thrust(share):
    tas = np.linspace(60.0, 100.0, 9) * KT_FT
    start, end = lift(tas, share * POUNDS), lift(tas, POUNDS)
    change, _ = glides(share * POUNDS).change(start, end)
    carried = coefficients(tas, share * POUNDS) + change
    assert carried == pytest.approx(coefficients(tas, POUNDS), rel=1e-9)
    # not carried at all it would be off by tens of feet a minute
    off = (coefficients(tas, share * POUNDS) - coefficients(tas, POUNDS)) * tas / end * 60.0
    assert np.max(np.abs(off)) > 20.0


def test_published_best_speeds_follow_from_climbs_flown_light():
    tas = np.arange(55.0, 105.0, 0.01) * KT_FT
    start, end = lift(tas, 0.85 * POUNDS), lift(tas, POUNDS)
    carried = coefficients(tas, 0.85 * POUNDS) + glides(0.85 * POUNDS).change(start, end)[0]
    found = carried * tas / end
    # Computed from the four constants: best rate 75.9, best angle 63.2 KTAS, 700 ft/min.
    assert tas[np.argmax(found)] / KT_FT == pytest.approx(75.9, abs=0.1)
    assert tas[np.argmax(found / tas)] / KT_FT == pytest.approx(63.2, abs=0.1)
    assert np.max(found) * 60.0 == pytest.approx(700.0, abs=5.0)


def test_thrust_power_of_a_fixed_pitch_grows_as_the_four_constants_say():
    for knots, growth in ((63.2, 0.75), (75.9, 0.62)):
        v = knots * KT_FT
        found = (E + 3.0 * F * v**2) / (E + F * v**2)
        assert found == pytest.approx(growth, abs=0.01)
        assert abs(THRUST_POWER_GROWTH["fixed"] - found) < 0.08


def test_the_stated_uncertainty_is_what_repeated_glides_scatter_by():
    rng = np.random.default_rng(5)
    tas = np.tile(np.linspace(60.0, 110.0, 6), 3) * KT_FT
    s, series = lift(tas, POUNDS), np.repeat([0, 1, 2], 6)
    u = np.full(18, 2e-4)
    y = coefficients(tas, POUNDS, power=False) + np.array([0.0, 3e-3, -2e-3])[series]
    found = [
        fit_glide_slope(s, y + rng.normal(0.0, u), u, series).change(0.3, 0.34) for _ in range(400)
    ]
    scatter = np.std([float(change) for change, _ in found])
    stated = np.mean([float(u) for _, u in found])
    assert stated == pytest.approx(scatter, rel=0.25)


@pytest.mark.parametrize(
    ("speeds", "series"),
    [([60.0, 80.0], [0, 0]), ([70.0, 72.0, 74.0, 76.0], [0, 0, 0, 0])],
    ids=["too few", "too similar"],
)
def test_too_few_glides_tell_nothing(speeds, series):
    tas = np.array(speeds) * KT_FT
    s = lift(tas, POUNDS)
    with pytest.raises(FitError, match="too few or too similar"):
        fit_glide_slope(s, coefficients(tas, POUNDS, power=False), np.full(len(tas), 1e-3), series)


def test_two_airspeeds_of_many_aircraft_tell_no_parabola():
    tas = np.tile([60.0, 110.0], 3) * KT_FT
    s = lift(tas, POUNDS)
    y = coefficients(tas, POUNDS, power=False)
    with pytest.raises(FitError, match="no aircraft glided at three airspeeds"):
        fit_glide_slope(s, y, np.full(6, 1e-3), [0, 0, 1, 1, 2, 2])


@pytest.mark.parametrize(("ratio", "enough"), [(1.49, False), (1.51, True)])
def test_the_largest_lift_has_to_be_half_as_much_again_as_the_smallest(ratio, enough):
    tas = np.linspace(80.0, 80.0 * np.sqrt(ratio), 6) * KT_FT
    s, y = lift(tas, POUNDS), coefficients(tas, POUNDS, power=False)
    if enough:
        change, _ = fit_glide_slope(s, y, np.full(6, 1e-3), np.zeros(6)).change(s[:1], s[-1:])
        assert change == pytest.approx(y[-1:] - y[:1], rel=1e-6)
    else:
        with pytest.raises(FitError, match="too few or too similar"):
            fit_glide_slope(s, y, np.full(6, 1e-3), np.zeros(6))
