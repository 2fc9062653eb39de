from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from fleetcal.airdata.leg_solution import solve_legs

from fleetcal.airdata.budget import LegData, Term, combine, supposed_leg_scatter
from fleetcal.airdata.reading import Readings
from tests.airdata.budget_runs import (
    ASSUMED,
    STEPS,
    budget_as_supposed,
    drift_of,
    flown,
    in_squares,
    solved,
    terms_of,
)
from tests.airdata.run_maker import alike, evenly, made_run, true_airspeed_and_slope


def test_legs_balanced_in_time_take_no_harm_from_a_steady_drift():
    # Exact: with one airspeed, headings flown out and back in time order cancel the drift.
    heading = evenly(3)
    made = made_run(np.append(heading, heading[::-1]), alike(6), 0.05, 9.0, 1.0)
    legs = LegData(
        east_mps=made.east_mps,
        north_mps=made.north_mps,
        readings=made.readings,
        middle_s=90.0 * np.arange(6.0),
        u_mean_mps=np.zeros(6),
        movement={},
        steps={},
    )
    assert drift_of(legs) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("count", [3, 4, 6])
def test_leg_scatter_by_hand(count):
    # Hand derivation: n evenly spread headings at one speed give V the error s/sqrt(n), and
    # kappa that error over dV/dkappa. Without noise in the run the scatter is what was supposed,
    # thinned by the spare legs that show none: sqrt(8 s^2 / (8 + n - 3)).
    legs = replace(flown(count, hold_mps=0.0), u_mean_mps=np.full(count, 0.15))
    slope = true_airspeed_and_slope(legs.readings, 0.06)[1][0]
    supposed = np.hypot(0.15, ASSUMED.u_wind_mps)
    scatter = supposed * np.sqrt(8.0 / (8.0 + count - 3))
    term = terms_of(legs)["leg scatter"]
    assert term.u_kappa == pytest.approx(scatter / np.sqrt(count) / slope, rel=1e-6)
    assert term.degrees_of_freedom == pytest.approx(8.0 + count - 3, rel=1e-6)
    assert term.kind == "A"


def test_leg_scatter_takes_in_what_the_spare_legs_show():
    legs = flown(6)
    east = legs.east_mps + np.array([1.2, -0.8, 0.5, 0.9, -1.1, 0.7])
    legs = replace(legs, east_mps=east)
    solution = solved(legs)
    squares = float(np.sum(solution.residual_mps[0] ** 2))
    supposed = supposed_leg_scatter(legs, ASSUMED)
    scatter = np.sqrt((8.0 * supposed**2 + squares) / (8.0 + 3.0))
    spread = in_squares(solution.gain[0, 2])
    assert terms_of(legs)["leg scatter"].u_kappa == pytest.approx(spread * scatter, rel=1e-6)
    assert scatter > 1.2 * supposed


def test_the_supposed_scatter_is_samples_and_wind_in_squares():
    legs = flown(4)
    expected = np.sqrt(np.mean(legs.u_mean_mps**2) + ASSUMED.u_wind_mps**2)
    assert supposed_leg_scatter(legs, ASSUMED) == pytest.approx(expected, rel=1e-12)


def test_scatter_found_in_earlier_runs_speaks_only_where_there_is_no_spare_leg():
    known = replace(ASSUMED, leg_scatter_mps=0.45)
    assert supposed_leg_scatter(flown(3), known) == 0.45
    assert supposed_leg_scatter(flown(4), known) == supposed_leg_scatter(flown(4), ASSUMED)


def test_one_kelvin_is_a_sixth_of_a_percent_of_true_airspeed():
    # Hand derivation: Vt goes with sqrt(T), so 1 K at 288 K is 1/576 = 0.17 % of Vt.
    readings = alike(4, temperature_k=288.15, recovery_factor=0.0)
    made = made_run(evenly(4), readings, 0.03, 0.0, 0.0)
    legs = LegData(
        east_mps=made.east_mps,
        north_mps=made.north_mps,
        readings=readings,
        middle_s=np.arange(4.0) * 90.0,
        u_mean_mps=np.zeros(4),
        movement={},
        steps={},
    )
    term = terms_of(legs, replace(ASSUMED, u_temperature_k=1.0))["outside-air temperature"]
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


def test_the_terms_stand_in_a_fixed_order_and_say_whose_errors_they_are():
    terms = budget_as_supposed(flown(), solved(flown()), 0, ASSUMED)
    assert [(t.name, t.owner, t.kind) for t in terms] == [
        ("leg scatter", "point", "A"),
        ("wind drift east", "sortie", "B"),
        ("wind drift north", "sortie", "B"),
        ("ground speed", "point", "B"),
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
    assert all(np.isinf(t.degrees_of_freedom) for t in terms[1:])
    assert all(t.note for t in terms if t.owner != "point")


def test_a_temperature_that_is_already_ambient_has_no_recovery_term():
    legs = flown()
    ambient = replace(legs.readings, recovery_factor=np.zeros(4))
    assert terms_of(replace(legs, readings=ambient))["recovery factor"].u_kappa == 0.0


def test_quantities_that_are_not_rounded_have_no_rounding_terms():
    terms = terms_of(replace(flown(), steps={}))
    assert [t.u_kappa for t in terms.values() if t.name.endswith("rounding")] == [0.0] * 5


def test_movement_within_a_leg_takes_rounding_out_of_the_mean():
    legs = flown()
    moving = replace(legs, movement={name: 0.6 * step for name, step in STEPS.items()})
    at_rest, left = terms_of(legs), terms_of(moving)
    for name in at_rest:
        if name.endswith("rounding"):
            assert abs(left[name].u_kappa) < 0.01 * abs(at_rest[name].u_kappa)
        else:
            assert left[name].u_kappa == at_rest[name].u_kappa


def test_a_budget_of_one_run_among_several_is_that_of_the_run_alone():
    short, long = flown(3), flown(6)
    names = ("airspeed_mps", "altitude_m", "temperature_k", "recovery_factor")

    def rows(first, second):
        return np.stack([np.append(first, np.zeros(3)), second])

    both = solve_legs(
        rows(short.east_mps, long.east_mps),
        rows(short.north_mps, long.north_mps),
        Readings(**{n: rows(getattr(short.readings, n), getattr(long.readings, n)) for n in names}),
        weight=[[1, 1, 1, 0, 0, 0], [1] * 6],
    )
    for row, legs in enumerate((short, long)):
        alone = terms_of(legs)
        for term in budget_as_supposed(legs, both, row, ASSUMED):
            assert term.u_kappa == pytest.approx(alone[term.name].u_kappa, rel=1e-8, abs=1e-14)


def test_terms_add_in_squares_whatever_their_sign():
    terms = (
        Term(name="a", u_kappa=3.0, owner="point", kind="B"),
        Term(name="b", u_kappa=-4.0, owner="sortie", kind="B"),
    )
    assert combine(terms) == (5.0, np.inf)
    assert combine(()) == (0.0, np.inf)


def test_one_scattered_term_alone_keeps_its_degrees_of_freedom():
    u, freedom = combine(
        (
            Term(name="a", u_kappa=-0.3, owner="point", kind="A", degrees_of_freedom=7.0),
            Term(name="b", u_kappa=0.0, owner="point", kind="A", degrees_of_freedom=2.0),
        )
    )
    assert (u, freedom) == pytest.approx((0.3, 7.0), rel=1e-12)


def test_the_end_gauge_of_the_guide():
    # Published, seen second-hand: JCGM 100:2008, H.1, components in nm; the Guide prints 32 nm.
    # Computed: the root of the sum of their squares is 31.66 nm.
    parts = (25.0, 16.599, 6.7, 5.8, 3.9, 2.88679)
    u, _ = combine(tuple(Term(name=f"{p}", u_kappa=p, owner="point", kind="B") for p in parts))
    assert u == pytest.approx(32.0, abs=0.5)
    assert u == pytest.approx(31.66, abs=5e-3)


def test_the_effective_degrees_of_freedom_of_the_end_gauge_of_the_guide():
    # From memory (high confidence): JCGM 100:2008, H.1.6 takes 25 nm with 18 degrees of freedom,
    # 9.7 with 25.6, 2.9 with 50 and 16.6 with 2, and finds 16.7, cut down to 16.
    parts = ((25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0))
    _, freedom = combine(
        tuple(
            Term(name=f"{u}", u_kappa=u, owner="point", kind="A", degrees_of_freedom=v)
            for u, v in parts
        )
    )
    assert freedom == pytest.approx(16.7, abs=0.1)
    assert int(freedom) == 16
