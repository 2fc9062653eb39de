"""Ordinary flights and test flights of a simulated fleet, pooled as those of a store are."""

from dataclasses import replace

import numpy as np
import pytest

from seed_demo.air import KT
from tests.airdata.simulations.dedicated import dedicated_flights
from tests.airdata.simulations.flights import AIRSPEEDS_KT
from tests.airdata.simulations.ordinary import ORDINARY_DAY, each_ordinary_airframe
from tests.airdata.simulations.ordinary_table import SPEEDS_KT
from tests.airdata.simulations.pool_of_sorties import pooled, solved_legs
from tests.airdata.simulations.pool_table import (
    BANDS,
    WAYS,
    Plan,
    each_pooled,
    kappa_of_ports,
    show,
)
from tests.airdata.simulations.recorder import SCALING_MPS

pytestmark = pytest.mark.long

PLAN = Plan(fleets=1, airframes=4, flights=1, seed=3, day="ordinary")
SHOWN, FITTED = BANDS
ORDINARY, TEST, BOTH = WAYS


@pytest.fixture(scope="module")
def found():
    return {(one.way, one.band): one for one in each_pooled(PLAN, range(1))}


@pytest.fixture(scope="module")
def tested():
    airframes = list(each_ordinary_airframe(ORDINARY_DAY, range(3), 1, 5))
    rngs = [np.random.default_rng([5, number, 1]) for number in range(3)]
    flights = dedicated_flights(ORDINARY_DAY, airframes, rngs)
    return airframes, [solved_legs(flight) for flight in flights]


def test_every_way_gives_bands_at_all_airspeeds(found):
    assert set(found) == {(way, band) for way in WAYS for band in BANDS}
    for one in found.values():
        assert np.all(one.mean_kt > 0.2)
        assert np.all((one.next_kt > one.mean_kt) & (one.next_kt < 12.0))
        assert np.all(np.abs(one.error_kt) < 2.0 * one.mean_kt)
        assert np.all((one.next_inside >= 0.5) & (one.next_inside <= 1.0))


def test_test_flights_make_no_band_of_ordinary_flights_much_wider(found):
    for band in BANDS:
        both = found[BOTH, band]
        assert both.points == found[ORDINARY, band].points + found[TEST, band].points
        assert np.all(both.mean_kt < 1.3 * found[ORDINARY, band].mean_kt)
        assert np.all(both.next_kt < 1.3 * found[ORDINARY, band].next_kt)


def test_checks_of_the_model_never_make_a_band_narrower(found):
    for way in WAYS:
        assert np.all(found[way, SHOWN].mean_kt >= found[way, FITTED].mean_kt - 1e-9)
        assert np.all(found[way, SHOWN].next_kt >= found[way, FITTED].next_kt - 1e-9)


def test_the_table_has_a_line_for_each_way_and_airspeed(found, capsys):
    show(PLAN, [*found.values(), *found.values()])
    lines = capsys.readouterr().out.splitlines()
    for way in WAYS:
        assert sum(line.startswith(f"{way} ") for line in lines) == len(BANDS) * len(SPEEDS_KT)


def test_the_mean_of_many_ports_is_that_of_their_distribution():
    kappa = kappa_of_ports(np.random.default_rng(1), 4000)
    lift = (SCALING_MPS / KT / np.array(SPEEDS_KT)) ** 2
    off = kappa.mean(axis=0) - (0.03 + 0.1 * (lift - 0.25))
    assert np.all(np.abs(off) < 4.0 * kappa.std(axis=0) / np.sqrt(4000))


def test_a_test_flight_is_a_run_at_each_airspeed_with_the_port_of_its_airframe(tested):
    for airframe, runs in zip(*tested, strict=True):
        assert [run.leg_count for run in runs] == [4, 4, 4]
        for run, airspeed_kt in zip(runs, AIRSPEEDS_KT, strict=True):
            assert run.vic_kt == pytest.approx(airspeed_kt, abs=3.0)
            indicated_mps = run.vic_kt * KT - airframe.errors.airspeed_mps
            off = run.kappa - float(airframe.kappa_at(indicated_mps))
            assert abs(off) < 4.0 * run.u_kappa


def test_points_of_a_pool_keep_their_owners_and_airframes_without_points_leave_no_gap(tested):
    first, second, third = tested[1]
    refused = [replace(run, accepted=False, reason="for the test") for run in second]
    points = pooled([[first, second], [refused], [third]])
    assert points.aircraft.tolist() == [0] * 6 + [1] * 3
    assert len(np.unique(points.sortie)) == 3
    owned = [run for sortie in (first, second, third) for run in sortie]
    for name, terms in (("sortie", points.u_shared), ("airframe", points.u_airframe)):
        stated = [sum(t.u_kappa**2 for t in run.terms if t.owner == name) for run in owned]
        np.testing.assert_allclose((terms**2).sum(axis=1), stated)
        assert np.all(np.array(stated) > 0.0)
    np.testing.assert_allclose(points.x, [(45.0 / run.vic_kt) ** 2 for run in owned])
