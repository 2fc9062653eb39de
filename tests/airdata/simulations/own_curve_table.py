"""What one aircraft's own curve is worth after 1, 2 and 4 test flights, without a fleet.

``python -m tests.airdata.simulations.own_curve_table``
Options: ``--airframes 1000 --seed 11 --processes 2 --day ordinary`` (or ``rough``).

Each airframe has a port and instruments of its own that stay wrong as they are; its flights have
gusts, winds and pilots as ordinary days have them. Half of the flights are a box of legs at each
of five airspeeds from 60 to 125 kt, half at three from 71 to 105 kt, so that 65 and 130 kt lie
beyond what was flown. The services reduce the flights; the curve joins their points with what is
known of any port. Ports of two kinds are flown: drawn ones, a level, a tilt and a step that no
quadratic follows; and that of a certified four-seat trainer as its handbook prints it (information
manual, model 172S, section 5, figure 5-1, flaps up), a straight line from print to print.

A band is held against the correction of a reading, the indicator's own error in it. Shares have
their Monte Carlo error behind +-.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.few_aircraft import any_port
from fleetcal.fleet.own_curve import own_curve
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.services.curves.own_points import own_points
from fleetcal.services.curves.speed_grid import bounded_correction_kt
from seed_demo.air import KT, Array
from tests.airdata.simulations.dedicated import dedicated_flights
from tests.airdata.simulations.ordinary import OrdinaryAirframe
from tests.airdata.simulations.ordinary_airframes import (
    Port,
    draw_errors,
    draw_instruments,
    draw_port,
)
from tests.airdata.simulations.ordinary_table import DAYS
from tests.airdata.simulations.plans import Plan, box_plan
from tests.airdata.simulations.pool_of_sorties import Sortie, pooled_rows, solved_legs
from tests.airdata.simulations.recorder import SCALING_MPS

SPEEDS_KT: Final = (65.0, 80.0, 100.0, 130.0)
SORTIES: Final = (1, 2, 4)
FLOWN: Final = {"60 to 125": (125.0, 105.0, 88.0, 72.0, 60.0), "71 to 105": (105.0, 88.0, 71.0)}
PORTS: Final = ("drawn", "handbook")
AT_ONCE: Final = 20
_PRINTED_IAS: Final = np.array([50.0, 60, 70, 80, 90, 100, 110, 120, 130, 140, 150, 160])
_PRINTED_CAS: Final = np.array([56.0, 62, 70, 78, 87, 97, 107, 117, 127, 137, 147, 157])


@dataclass(frozen=True, kw_only=True)
class PrintedPort(Port):
    """The port of the handbook, scaled to the simulated stall: kappa between prints is linear."""

    def error(self, indicated_mps: Array, load_factor: Array) -> Array:
        """Return kappa at an indicated airspeed; lift is that of straight flight."""
        kappa = (_PRINTED_CAS / _PRINTED_IAS) ** 2 - 1.0
        speed = np.asarray(indicated_mps) / KT / np.sqrt(load_factor)
        return np.asarray(np.interp(speed, _PRINTED_IAS, kappa))


@dataclass(frozen=True, kw_only=True)
class Held:
    """One own curve against the truth, kt: arrays (speeds,)."""

    port: str
    flown: str
    sorties: int
    points: int
    error_kt: Array
    half_kt: Array
    inside: Array


def plans() -> dict[str, Plan]:
    """Return the two test flights."""
    return {name: box_plan(speeds) for name, speeds in FLOWN.items()}


def drawn(port: str, rng: np.random.Generator) -> OrdinaryAirframe:
    """Draw an airframe without flights."""
    own = draw_port(rng)
    if port == "handbook":
        own = PrintedPort(level=0.0, tilt=0.0, bend=0.0, where=0.25)
    return OrdinaryAirframe(
        port=own, errors=draw_errors(rng), instruments=draw_instruments(rng), flights=()
    )


def held(port: str, flown: str, numbers: range, seed: int, day: str) -> Iterator[Held]:
    """Fly airframes and hold their curves after each number of sorties."""
    place = PORTS.index(port), list(FLOWN).index(flown)
    rngs = [np.random.default_rng([seed, *place, n]) for n in numbers]
    airframes = [drawn(port, rng) for rng in rngs]
    plan = plans()[flown]
    flights = [dedicated_flights(DAYS[day], airframes, rngs, plan) for _ in range(max(SORTIES))]
    for number, airframe in enumerate(airframes):
        sorties = [solved_legs(one[number]) for one in flights]
        for count in SORTIES:
            yield _held(port, flown, airframe, sorties[:count])


def _held(port: str, flown: str, airframe: OrdinaryAirframe, sorties: list[Sortie]) -> Held:
    rows = pooled_rows([sorties])
    speed = np.array(SPEEDS_KT)
    lift = (SCALING_MPS / KT / speed) ** 2
    own = own_points(rows)
    prior = PortPrior()
    band = own_curve(any_port(prior, own.x), own).band(lift)
    low, centre, high = (
        bounded_correction_kt(speed, one) for one in (band.low, band.centre, band.high)
    )
    off = airframe.errors.airspeed_mps
    vic = speed * KT - off
    truth = bounded_correction_kt(vic / KT, airframe.kappa_at(vic)) - off / KT
    return Held(
        port=port,
        flown=flown,
        sorties=len(sorties),
        points=len(rows),
        error_kt=centre - truth,
        half_kt=0.5 * (high - low),
        inside=((low <= truth) & (truth <= high)).astype(float),
    )


def show(found: Iterable[Held]) -> None:
    """Print rms error, half width and coverage at each speed."""
    rows = list(found)
    print("port      flown kt   sorties  points    kt  airframes   rms error     half     inside %")
    for port in PORTS:
        for flown in FLOWN:
            for count in SORTIES:
                own = [r for r in rows if (r.port, r.flown, r.sorties) == (port, flown, count)]
                for place in range(len(SPEEDS_KT) if own else 0):
                    print(_line(own, place), flush=True)


def _line(own: list[Held], place: int) -> str:
    many, first = len(own), own[0]
    rms = float(np.sqrt(np.mean([one.error_kt[place] ** 2 for one in own])))
    half = float(np.mean([one.half_kt[place] for one in own]))
    share = float(np.mean([one.inside[place] for one in own]))
    low, high = min(FLOWN[first.flown]), max(FLOWN[first.flown])
    beyond = "" if low <= SPEEDS_KT[place] <= high else "  beyond"
    return (
        f"{first.port:9s} {first.flown:10s} {first.sorties:6d}  "
        f"{np.mean([one.points for one in own]):6.1f}  {SPEEDS_KT[place]:4.0f}  {many:9d}   "
        f"{rms:.2f} +- {rms / np.sqrt(2 * many):.2f}  {half:8.2f}    {100 * share:5.1f} +- "
        f"{100 * np.sqrt(share * (1 - share) / many):.1f}{beyond}"
    )


def _part(given: tuple[str, str, range, int, str]) -> list[Held]:
    return list(held(*given))


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--airframes", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--day", choices=list(DAYS), default="ordinary")
    given = parser.parse_args()
    each = given.airframes // (len(PORTS) * len(FLOWN))
    parts = [
        (port, flown, range(a, min(a + AT_ONCE, each)), given.seed, given.day)
        for port in PORTS
        for flown in FLOWN
        for a in range(0, each, AT_ONCE)
    ]
    with ProcessPoolExecutor(given.processes) as pool:
        show(one for part in pool.map(_part, parts) for one in part)


if __name__ == "__main__":
    main()
