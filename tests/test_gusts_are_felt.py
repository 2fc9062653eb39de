"""No simulator of flights puts gusts into the ground vector alone: the pitot feels them first.

From one second to the next airspeed must jump about more than ground speed, since an
aircraft has a mass: in a simulator whose gusts reach only the ground vector it is the
other way round.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from seed_demo.air import KT
from seed_demo.flight import Flight, Loading
from seed_demo.flight import fly as fly_demo
from seed_demo.hand import PERFECT_HAND
from seed_demo.instruments import RIGHT
from seed_demo.leg_sheet import legs_of
from seed_demo.performance_flight import fly_performance
from seed_demo.performance_story import build_performance_sorties
from seed_demo.story import build_sorties
from tests.airdata.simulations import flown as single_runs
from tests.airdata.simulations.air import Air
from tests.airdata.simulations.conditions import Condition
from tests.airdata.simulations.flights import flown as point_mass
from tests.airdata.simulations.ordinary import ORDINARY_DAY, ordinary_flights
from tests.airdata.simulations.plans import box_plan

TESTS = Path(__file__).parent

#: What moves, sample by sample on straight legs: true airspeed and ground speed along the
#: way, m/s, as lists of stretches.
Stretches = list[tuple[np.ndarray, np.ndarray]]


def _stretches(airspeed, ground, inside) -> Stretches:
    at = np.flatnonzero(inside)
    parts = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    return [(airspeed[part], ground[part]) for part in parts if part.size > 20]


def of_the_demonstration() -> Stretches:
    sortie = build_sorties()[0]
    flight = fly_demo(
        sortie.card,
        sortie.airframe.true_curve(sortie.day),
        sortie.weather,
        Loading(560.0),
        PERFECT_HAND,
        RIGHT,
        np.random.default_rng(1),
    )
    return _of_legs(flight)


def of_performance_sorties() -> Stretches:
    sortie = build_performance_sorties()[0]
    flight = fly_performance(
        sortie.card,
        sortie.plant,
        sortie.airframe.true_curve(sortie.day),
        replace(sortie.weather, gust_mps=0.5),
        sortie.loading,
        PERFECT_HAND,
        RIGHT,
        0.1,
        np.random.default_rng(1),
    )
    return _of_legs(flight)


def _of_legs(flight: Flight) -> Stretches:
    ground = np.hypot(flight.ground_east, flight.ground_north)
    return [(flight.true_airspeed[at], ground[at]) for _, _, at in legs_of(flight)]


def of_a_point_mass() -> Stretches:
    motion, log = point_mass(Condition(air=Air(gust_mps=0.6)), box_plan((90.0,)), 1, 1, False)
    ground = np.hypot(motion.east_mps, motion.north_mps)[0, ::5]
    return _stretches(motion.airspeed_mps[0, ::5], ground, log.run >= 0)


def of_ordinary_flights() -> Stretches:
    flight = ordinary_flights(ORDINARY_DAY, 1, 1, 1)[0].flights[0]
    ground = np.hypot(flight.log.east_mps, flight.log.north_mps)
    cruise = [one for one in flight.stretches if one.purpose == "cruise"]
    parts = [slice(int(one.start_s) + 10, int(one.stop_s)) for one in cruise]
    return [(flight.truth.airspeed_mps[part], ground[part]) for part in parts]


def of_single_runs() -> Stretches:
    time_s = single_runs.leg_times(4, 60, 35)
    heading = np.radians(np.repeat((0.0, 90.0, 180.0, 270.0), 60))
    flown = single_runs.fly(np.random.default_rng(1), 1, time_s, heading, single_runs.Air())
    airspeed, ground = flown.true_mps[0], np.hypot(flown.east_mps, flown.north_mps)[0]
    legs = [slice(60 * leg, 60 * leg + 60) for leg in range(4)]
    return [(airspeed[leg], ground[leg]) for leg in legs]


def of_recorded_flights() -> Stretches:
    from tests.flightlog.flight_maker import box, fly

    flight = fly(box(), seed=1)
    return _stretches(flight.airspeed, flight.ground_speed, np.isin(flight.segment, flight.legs))


def of_sawtooth_flights() -> Stretches:
    from tests.flightlog.sawtooth_maker import sawtooth

    flight = sawtooth((75.0, 90.0), lambda _: 600.0)
    climbing = np.isin(flight.segment, flight.flown)
    return _stretches(flight.airspeed, flight.ground_speed, climbing)


def of_the_corpus_of_logs() -> Stretches:
    from tests.flightlog.corpus.flown import fly

    flight = fly(1, 0.0)
    return _stretches(flight.tas_kt * KT, flight.gs_kt * KT, flight.leg >= 0)


def of_sorties_for_commands() -> Stretches:
    from tests.cli.invented_sortie import Card, Truth, fly

    sortie = fly(Card(airspeeds_kt=(100.0,), leg_s=200), Truth(roughness=1.0))
    straight = np.zeros(len(sortie.tas_kt), dtype=bool)
    for leg in range(4):
        begin = 60 + 90 + leg * 230
        straight[begin : begin + 200] = True
    return _stretches(sortie.tas_kt * KT, sortie.ground_speed_kt * KT, straight)


SIMULATORS = {
    "seed_demo/flight.py": of_the_demonstration,
    "seed_demo/performance_flight.py": of_performance_sorties,
    "tests/airdata/simulations/point_mass.py": of_a_point_mass,
    "tests/airdata/simulations/ordinary_air.py": of_ordinary_flights,
    "tests/airdata/simulations/flown.py": of_single_runs,
    "tests/flightlog/flight_maker.py": of_recorded_flights,
    "tests/flightlog/sawtooth_maker.py": of_sawtooth_flights,
    "tests/flightlog/corpus/flown.py": of_the_corpus_of_logs,
    "tests/cli/invented_sortie.py": of_sorties_for_commands,
}
#: A random process given to something that is called a gust, or that is called turbulence.
DRAWN = r"gust\w* \+?= [^\n]*(normal|remembering|correlated|wander|drawn)\w*\(|turbulence\("
#: Where gusts are drawn for something else than the samples of a flight, and for what.
NO_FLIGHT = {
    "seed_demo/gusts.py": "the gusts themselves",
    "seed_demo/weather.py": "the wind of a day; seed_demo/flight.py lets the pitot feel it",
    "tests/airdata/run_simulator.py": "means of legs, of which airspeed has its share",
    "tests/airdata/simulations/air.py": "drawn for the point mass",
    "tests/airdata/test_techniques_simulated.py": "the wind of a pass; a stopwatch has no pitot",
    "tests/airdata/test_simulated_air.py": "tests of the point mass",
    "tests/airdata/test_flight_pieces.py": "gusts that the pitot alone feels",
    "tests/airdata/test_turning_flight.py": "turns whose pitot feels them, but for a climbing one",
}


@pytest.mark.parametrize("file", SIMULATORS)
def test_a_gust_moves_the_airspeed_before_it_moves_the_aircraft(file):
    airspeed, ground = zip(*SIMULATORS[file](), strict=True)
    quick = np.concatenate([np.diff(part, n=2) for part in airspeed])
    carried = np.concatenate([np.diff(part, n=2) for part in ground])
    # second differences, so that neither a drift nor a turn counts
    assert quick.size >= 80
    assert np.std(quick) > 1.2 * np.std(carried)


def test_every_file_that_draws_gusts_is_tried_or_says_why_not():
    root = TESTS.parent
    drawing = {
        str(path.relative_to(root))
        for folder in ("tests", "seed_demo")
        for path in (root / folder).rglob("*.py")
        if path.name != Path(__file__).name and _draws_gusts(path.read_text(encoding="utf-8"))
    }
    assert drawing <= SIMULATORS.keys() | NO_FLIGHT.keys()
    assert NO_FLIGHT.keys() <= drawing  # a file that draws none any more is taken off the list


def _draws_gusts(source: str) -> bool:
    return bool(re.search(DRAWN, source))
