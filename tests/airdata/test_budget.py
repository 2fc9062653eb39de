from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions, air_prior, combine, group_budget
from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import STILL, AirPrior
from tests.airdata.budget_runs import (
    ASSUMED,
    FEW,
    STEPS,
    FlownLegs,
    budget,
    flown,
    solved,
    terms_of,
)
from tests.airdata.run_maker import alike, evenly, made_run, true_airspeed_and_slope


def drifting(drift_mps2):
    """One noise, no walk to speak of, a drift as given."""
    return AirPrior(noise=(1.0,), wander_kt=(0.01,), drift_mps2=drift_mps2, drift_times=(1.0,))


def there_and_back(heading):
    made = made_run(heading, alike(len(heading)), 0.05, 9.0, 1.0)
    return FlownLegs(
        east_mps=made.east_mps,
        north_mps=made.north_mps,
        readings=made.readings,
        middle_s=90.0 * np.arange(float(len(heading))),
    )


def test_legs_balanced_in_time_take_no_harm_from_a_steady_drift():
    # Exact: with one airspeed, headings flown out and back in time order cancel the drift.
    heading = evenly(3)
    balanced, not_balanced = (
        there_and_back(np.append(heading, back)) for back in (heading[::-1], heading)
    )
    for legs, harmed in ((balanced, False), (not_balanced, True)):
        still, moving = (
            solved(legs, prior=drifting(each)).covariance[0, 0] for each in (1e-9, 3e-3)
        )
        assert bool(moving > 1.02 * still) is harmed
        if not harmed:
            assert moving == pytest.approx(still, rel=1e-4)


@pytest.mark.parametrize("count", [3, 4, 6])
def test_leg_scatter_by_hand(count):
    # Hand derivation: n evenly spread headings at one speed give V the error s/sqrt(n), and
    # kappa that error over dV/dkappa.
    legs = flown(count, hold_mps=0.0)
    slope = true_airspeed_and_slope(legs.readings, 0.06)[1][0]
    found = solved(legs, prior=STILL)
    term = terms_of(legs, prior=STILL)["leg scatter"]
    expected = found.scatter_mps[0] / np.sqrt(count) / slope
    assert term.u_kappa == pytest.approx(expected, rel=1e-2)
    assert term.kind == "A"
    assert term.owner == "point"


def test_three_legs_scatter_as_is_supposed_before_and_spare_legs_tell_more():
    prior = air_prior(ASSUMED)
    supposed = np.hypot(0.008 * solved(flown(3)).looked.speed_mps, ASSUMED.u_ground_speed_mps)
    # what the prior of the noise says, which three legs cannot change
    noise = np.array([strength.noise for strength, _ in prior.tried()])
    weight = np.exp([log_prior for _, log_prior in prior.tried()])
    before = np.sqrt(np.average(noise**2, weights=weight))
    three = solved(flown(3), prior=prior)
    np.testing.assert_allclose(three.scatter_mps, before * supposed, rtol=0.02)
    quiet = solved(flown(8, hold_mps=0.0), prior=prior)
    off = np.array([2.6, -1.9, 1.2, 2.1, -2.4, 1.7, -1.4, -2.2])
    legs = flown(8, hold_mps=0.0)
    loud = solved(replace(legs, east_mps=legs.east_mps + off), prior=prior)
    assert np.median(quiet.scatter_mps) < 0.8 * np.median(three.scatter_mps)
    assert np.median(loud.scatter_mps) > 1.3 * np.median(three.scatter_mps)
    assert loud.covariance[0, 0] > 2.0 * quiet.covariance[0, 0]


def test_scatter_found_in_earlier_runs_speaks_only_where_there_is_no_spare_leg():
    known = replace(ASSUMED, leg_scatter_mps=0.45)
    np.testing.assert_allclose(solved(flown(3), assumptions=known).supposed_mps, 0.45)
    np.testing.assert_allclose(
        solved(flown(4), assumptions=known).supposed_mps, solved(flown(4)).supposed_mps
    )


def test_one_kelvin_is_a_sixth_of_a_percent_of_true_airspeed():
    # Hand derivation: Vt goes with sqrt(T), so 1 K at 288 K is 1/576 = 0.17 % of Vt.
    readings = alike(4, temperature_k=288.15, recovery_factor=0.0)
    made = made_run(evenly(4), readings, 0.03, 0.0, 0.0)
    legs = FlownLegs(
        east_mps=made.east_mps,
        north_mps=made.north_mps,
        readings=readings,
        middle_s=np.arange(4.0) * 90.0,
    )
    assumed = replace(ASSUMED, u_temperature_k=1.0)
    term = terms_of(legs, assumptions=assumed)["outside-air temperature"]
    slope = true_airspeed_and_slope(readings, 0.03)[1][0]
    share = -term.u_kappa * slope / made.true_airspeed_mps[0]
    assert share == pytest.approx(1.0 / (2.0 * 288.15), rel=1e-6)
    assert share == pytest.approx(0.0017, abs=5e-5)


def test_signs_are_those_of_the_physics():
    # Air believed too warm, or an indicator that reads fast, makes the readings stand for more
    # true airspeed than the legs show: kappa falls. An altimeter that reads high does the same.
    terms = terms_of(flown())
    assert terms["outside-air temperature"].u_kappa < 0.0
    assert terms["airspeed indicator"].u_kappa < 0.0
    assert terms["altimeter"].u_kappa < 0.0
    assert terms["recovery factor"].u_kappa > 0.0


INSTRUMENTS_AND_ROUNDING = [
    ("ground speed rounding", "point", "B"),
    ("track rounding", "point", "B"),
    ("airspeed rounding", "point", "B"),
    ("altitude rounding", "point", "B"),
    ("temperature rounding", "point", "B"),
    ("outside-air temperature", "airframe", "B"),
    ("recovery factor", "fleet", "B"),
    ("humidity", "sortie", "B"),
    ("airspeed indicator", "airframe", "B"),
    ("altimeter", "airframe", "B"),
]


def three_runs():
    return [flown(4, begin_s=700.0 * place, airspeed_mps=45.0 + 5.0 * place) for place in range(3)]


def test_the_terms_stand_in_a_fixed_order_and_say_whose_errors_they_are():
    def told(*runs):
        terms = budget(*runs)
        by_b = [t for t in terms if t.kind == "B"]
        assert all(np.isinf(t.degrees_of_freedom) for t in by_b)
        assert all(t.note for t in terms if t.owner != "point")
        return [(t.name, t.owner, t.kind) for t in terms]

    assert told(flown()) == [("leg scatter", "point", "A"), *INSTRUMENTS_AND_ROUNDING]
    assert told(*three_runs()) == [
        ("leg scatter", "point", "A"),
        ("moving wind 1", "sortie", "A"),
        ("moving wind 2", "sortie", "A"),
        *INSTRUMENTS_AND_ROUNDING,
    ]


def test_what_wind_and_gusts_leave_is_parted_without_loss():
    runs = three_runs()
    found = solved(*runs)
    shared = []
    for group in range(3):
        terms = [t for t in group_budget(found, group, STEPS, ASSUMED) if t.kind == "A"]
        variance = found.covariance[group, group]
        assert sum(t.u_kappa**2 for t in terms) == pytest.approx(variance, rel=1e-6)
        _, freedom = combine(tuple(terms))
        assert freedom == pytest.approx(found.freedom[group], rel=1e-6)
        shared.append([t.u_kappa for t in terms if t.owner == "sortie"])
    together = np.array(shared) @ np.array(shared).T
    for first, second in ((0, 1), (0, 2), (1, 2)):
        assert together[first, second] == pytest.approx(
            found.covariance[first, second], rel=0.1, abs=0.02 * np.diag(found.covariance).max()
        )


def test_a_temperature_that_is_already_ambient_has_no_recovery_term():
    legs = flown()
    ambient = replace(legs.readings, recovery_factor=np.zeros(4))
    assert terms_of(replace(legs, readings=ambient))["recovery factor"].u_kappa == 0.0


def test_quantities_that_are_not_rounded_have_no_rounding_terms():
    terms = terms_of(flown(), steps={})
    assert [t.u_kappa for t in terms.values() if t.name.endswith("rounding")] == [0.0] * 5


def moving_legs(move):
    """Four legs of 25 samples that all move by so many steps, nothing else."""
    rng = np.random.default_rng(5)
    stretches = []
    for place, heading in enumerate(evenly(4, 0.4)):
        off = move * rng.normal(0.0, 1.0, (5, 25))
        off = off - off.mean(axis=1, keepdims=True)
        readings = alike(25, airspeed_mps=50.0)
        speed = true_airspeed_and_slope(readings, 0.06)[0]
        readings = replace(
            readings,
            airspeed_mps=readings.airspeed_mps + STEPS["airspeed"] * off[0],
            altitude_m=readings.altitude_m + STEPS["altitude"] * off[1],
            temperature_k=readings.temperature_k + STEPS["temperature"] * off[2],
        )
        east, north = speed * np.sin(heading) + 7.0, speed * np.cos(heading) - 5.0
        speed = np.hypot(east, north) + STEPS["ground_speed"] * off[3]
        track = np.arctan2(east, north) + STEPS["track"] * off[4]
        stretches.append(
            Stretch(
                group=0,
                time_s=100.0 * place + np.arange(25.0),
                east_mps=speed * np.sin(track),
                north_mps=speed * np.cos(track),
                readings=readings,
            )
        )
    return solve_pieces(cut(stretches), FEW)


def test_movement_within_a_leg_takes_rounding_out_of_the_mean():
    def terms(move):
        return {t.name: t for t in group_budget(moving_legs(move), 0, STEPS, ASSUMED)}

    at_rest, left = terms(0.0), terms(0.6)
    for name in at_rest:
        if name.endswith("rounding"):
            assert abs(at_rest[name].u_kappa) > 1e-6
            assert abs(left[name].u_kappa) < 0.02 * abs(at_rest[name].u_kappa)
        elif name != "leg scatter":
            assert left[name].u_kappa == pytest.approx(at_rest[name].u_kappa, rel=0.02)


def test_a_run_in_the_wind_of_others_is_surer_than_alone():
    alone, together = solved(flown(3)), solved(flown(3), *three_runs()[1:])
    assert together.covariance[0, 0] < 0.9 * alone.covariance[0, 0]
    assert together.kappa[0] == pytest.approx(alone.kappa[0], abs=1e-7)


def test_a_wind_that_may_wander_more_makes_runs_less_sure():
    calm, restless = (
        solved(flown(4), prior=air_prior(replace(ASSUMED, wind_wander_mps=each)))
        for each in (0.3, 6.0)
    )
    assert restless.covariance[0, 0] > 1.2 * calm.covariance[0, 0]


def test_assumptions_say_what_is_supposed_of_the_air():
    prior = air_prior(Assumptions())
    assert prior.middle_wander_kt == pytest.approx(2.0)
    assert prior.drift_mps2 == Assumptions().u_wind_drift_mps2
