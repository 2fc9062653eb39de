"""Are the bands that a plan foresees of one aircraft's own curve those that it gets.

``python -m tests.airdata.simulations.foreseen_table``
Options: ``--airframes 120 --seed 23 --processes 2 --day ordinary`` (or ``rough``).

Each airframe is planned, flown and reduced three times, a box of legs at each of four airspeeds
that the plan chooses from 60 to 125 kt, with no other airframe to lean on. Ports, instruments,
gusts and pilots are those of `own_curve_table`. Held against one another is the largest half band
over those speeds: foreseen by the plan of that flight, foreseen before the first flight, and got.
Of every two airframes one has a drawn port and one the port of a handbook. Ratios have their Monte
Carlo error behind +-.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.few_aircraft import any_port
from fleetcal.fleet.foreseen_own import TWO_SIDED_95, ForeseenOwn
from fleetcal.fleet.next_points import FlightToCome, PointsToPlan
from fleetcal.fleet.own_curve import own_curve
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.fleet.usual_sortie import UsualSortie
from fleetcal.services.curves.own_points import own_points
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.speed_grid import bounded_correction_kt, knots_for_each_kappa
from fleetcal.services.performance.usual_test_flight import usual_of_airframe
from seed_demo.air import KT, Array
from tests.airdata.simulations.dedicated import dedicated_flights
from tests.airdata.simulations.ordinary_table import DAYS
from tests.airdata.simulations.own_curve_table import PORTS, drawn
from tests.airdata.simulations.plans import box_plan
from tests.airdata.simulations.pool_of_sorties import Sortie, pooled_rows, solved_legs
from tests.airdata.simulations.recorder import SCALING_MPS

SPEEDS_KT: Final = np.arange(60.0, 126.0, 5.0)
LIFT: Final = (SCALING_MPS / KT / SPEEDS_KT) ** 2
FLIGHTS: Final = 3
RUNS: Final = 4
AT_ONCE: Final = 10


@dataclass(frozen=True, kw_only=True)
class Foreseen:
    """Largest half bands of one airframe after each flight, kt.

    Attributes:
        at_first (flights,): Foreseen before the first flight.
        by_plan (flights,): Foreseen before each.
        got (flights,): By the curve afterwards.
        inside (flights,): Share of the speeds at which the truth lies in the band.
    """

    port: str
    at_first: Array
    by_plan: Array
    got: Array
    inside: Array


def known(rows: list[PooledPoint]) -> tuple[ForeseenOwn, UsualSortie]:
    """Return the own curve that some points make, and what a point to come leaves uncertain."""
    own = own_points(rows)
    usual, lasting = usual_of_airframe(rows, ())
    curve = own_curve(any_port(PortPrior(), own.x), own)
    return ForeseenOwn(curve=curve, x=LIFT, lasting=lasting), usual


def half_kt(one: ForeseenOwn, deviation: Array) -> float:
    """Return the largest half band."""
    knots = knots_for_each_kappa(SPEEDS_KT, one.curve.centre(LIFT))
    return float(np.max(TWO_SIDED_95 * knots * deviation))


def planned(one: ForeseenOwn, usual: UsualSortie) -> tuple[Array, float, FlightToCome]:
    """Return the speeds of the next flight, the largest half band foreseen, and the flight."""
    u_own, u_shared = usual.at(LIFT, one.factor)
    scale = knots_for_each_kappa(SPEEDS_KT, one.curve.centre(LIFT))
    plan = one.plan(PointsToPlan(scale=scale, u_own=u_own, u_shared=u_shared, count=RUNS))
    place = plan.chosen
    flight = FlightToCome(x=LIFT[place], u_own=u_own[place], u_shared=u_shared[place])
    return SPEEDS_KT[np.sort(place)[::-1]], half_kt(one, plan.after[-1]), flight


def flown(port: str, number: int, seed: int, day: str) -> Foreseen:
    """Plan, fly and reduce the flights of one airframe."""
    rng = np.random.default_rng([seed, PORTS.index(port), number])
    airframe = drawn(port, rng)
    one, usual = known([])
    at_first, ahead = [], one
    for _ in range(FLIGHTS):
        _, half, flight = planned(ahead, usual)
        at_first.append(half)
        ahead = ahead.after([flight])
    sorties: list[Sortie] = []
    by_plan, got, inside = [], [], []
    for _ in range(FLIGHTS):
        speeds, half, _ = planned(one, usual)
        (flight_made,) = dedicated_flights(
            DAYS[day], [airframe], [rng], box_plan(tuple(speeds.tolist()))
        )
        sorties.append(solved_legs(flight_made))
        one, usual = known(pooled_rows([sorties]))
        band = one.curve.band(LIFT)
        low, high = (bounded_correction_kt(SPEEDS_KT, end) for end in (band.low, band.high))
        off = airframe.errors.airspeed_mps
        vic = SPEEDS_KT * KT - off
        truth = bounded_correction_kt(vic / KT, airframe.kappa_at(vic)) - off / KT
        by_plan.append(half)
        got.append(float(np.max(high - low)) / 2.0)
        inside.append(float(np.mean((low <= truth) & (truth <= high))))
    return Foreseen(
        port=port,
        at_first=np.array(at_first),
        by_plan=np.array(by_plan),
        got=np.array(got),
        inside=np.array(inside),
    )


def show(found: Iterable[Foreseen]) -> None:
    """Print foreseen and got half bands after each flight."""
    rows = list(found)
    print(
        "port      flight  airframes   foreseen at first  by its plan   got    got / plan"
        "       got / first     inside %"
    )
    for port in (*PORTS, "both"):
        some = [row for row in rows if port in (row.port, "both")]
        for flight in range(FLIGHTS if some else 0):
            print(_line(port, some, flight), flush=True)


def _line(port: str, rows: list[Foreseen], flight: int) -> str:
    got, plan, first, inside = (
        np.array([one[flight] for one in each])
        for each in (
            [r.got for r in rows],
            [r.by_plan for r in rows],
            [r.at_first for r in rows],
            [r.inside for r in rows],
        )
    )
    ratios = "    ".join(_ratio(got / one) for one in (plan, first))
    error = 100.0 * inside.std() / np.sqrt(len(rows))
    return (
        f"{port:9s} {flight + 1:6d}  {len(rows):9d}   {first.mean():17.2f}  {plan.mean():11.2f}  "
        f"{got.mean():.2f}   {ratios}   {100.0 * inside.mean():.1f} +- {error:.1f}"
    )


def _ratio(ratio: Array) -> str:
    return f"{ratio.mean():.2f} +- {ratio.std() / np.sqrt(len(ratio)):.2f}"


def _part(given: tuple[str, range, int, str]) -> list[Foreseen]:
    port, numbers, seed, day = given
    return [flown(port, number, seed, day) for number in numbers]


def parts(airframes: int, seed: int, day: str) -> Iterator[tuple[str, range, int, str]]:
    """Yield what one process does at a time."""
    each = airframes // len(PORTS)
    for port in PORTS:
        for first in range(0, each, AT_ONCE):
            yield port, range(first, min(first + AT_ONCE, each)), seed, day


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--airframes", type=int, default=120)
    parser.add_argument("--seed", type=int, default=23)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--day", choices=list(DAYS), default="ordinary")
    given = parser.parse_args()
    with ProcessPoolExecutor(given.processes) as pool:
        show(
            one
            for part in pool.map(_part, parts(given.airframes, given.seed, given.day))
            for one in part
        )


if __name__ == "__main__":
    main()
