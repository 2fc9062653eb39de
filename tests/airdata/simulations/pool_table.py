"""What ordinary flights tell of a group of airframes, pooled, and what test flights tell of it.

``python -m tests.airdata.simulations.pool_table``
Options: ``--fleets 40 --airframes 8 --flights 3 --seed 3 --processes 2 --day ordinary`` (or
``rough``).
Each fleet is of airframes whose ports and lasting errors of instruments are drawn
(`tests.airdata.simulations.ordinary_airframes`). Each airframe flies ordinary flights and one test
flight, a box of legs at each of 105, 88 and 71 kt; the services reduce them, and points that they
accept are pooled as those of a store are: ordinary flights alone, test flights alone, all.

The mean curve is held against the mean of kappa of many drawn ports, the band for the next
aircraft against ports drawn anew, each at an airspeed without indicator error. A band is shown
as wide as the services show it, after the checks of the model, and as it was fitted, before them.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from scipy import stats

from fleetcal.airdata.position_error import corrections
from fleetcal.errors import FleetcalError
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import PooledFit
from seed_demo.air import KT, Array
from tests.airdata.simulations.dedicated import dedicated_flights
from tests.airdata.simulations.ordinary import OrdinaryAirframe, each_ordinary_airframe
from tests.airdata.simulations.ordinary_airframes import draw_port
from tests.airdata.simulations.ordinary_table import DAYS, SPEEDS_KT, points_of
from tests.airdata.simulations.pool_of_sorties import Sortie, pooled, solved_legs
from tests.airdata.simulations.recorder import SCALING_MPS

WAYS = ("ordinary flights", "a test flight", "both")
BANDS = ("as the services show them", "as fitted")
#: From which the group's true mean is worked out, and how many next aircraft a fleet has.
PORTS_OF_THE_GROUP, NEXT_AIRCRAFT = 40_000, 200
FLEETS_AT_ONCE = 4
FIGURES = ("mean_kt", "next_kt", "error_kt", "mean_inside", "next_inside")


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What is flown: how many fleets, airframes of each, and ordinary flights of each airframe."""

    fleets: int
    airframes: int
    flights: int
    seed: int
    day: str


@dataclass(frozen=True, kw_only=True)
class Pooled:
    """One fleet pooled one way: arrays (speeds,), NaN where its points make no curve.

    Attributes:
        mean_kt, next_kt: Half the width of the bands of the mean and of the next aircraft.
        error_kt: Of the mean.
        mean_inside, next_inside: Share of truths within the bands.
    """

    way: str
    band: str
    points: int
    order: int
    mean_kt: Array
    next_kt: Array
    error_kt: Array
    mean_inside: Array
    next_inside: Array


def kappa_of_ports(rng: np.random.Generator, ports: int) -> Array:
    """Draw ports and return kappa of each at `SPEEDS_KT`, shape (ports, speeds)."""
    at_mps = np.array(SPEEDS_KT) * KT
    straight = np.ones_like(at_mps)
    return np.stack([draw_port(rng).error(at_mps, straight) for _ in range(ports)])


def each_pooled(plan: Plan, fleets: range) -> Iterator[Pooled]:
    """Fly fleets, pool each of them every way and hold its bands against the truth."""
    numbers = range(fleets.start * plan.airframes, fleets.stop * plan.airframes)
    day = DAYS[plan.day]
    flown: list[OrdinaryAirframe] = []
    ordinary: list[list[Sortie]] = []
    for airframe in each_ordinary_airframe(day, numbers, plan.flights, plan.seed):
        ordinary.append([points_of(flight) for flight in airframe.flights])
        flown.append(replace(airframe, flights=()))
    rngs = [np.random.default_rng([plan.seed, number, 1]) for number in numbers]
    tests = [[solved_legs(flight)] for flight in dedicated_flights(day, flown, rngs)]
    both = [[*first, *second] for first, second in zip(ordinary, tests, strict=True)]
    mean = kappa_of_ports(np.random.default_rng(plan.seed), PORTS_OF_THE_GROUP).mean(axis=0)
    for place, fleet in enumerate(fleets):
        rng = np.random.default_rng([plan.seed, fleet, 2])
        following = kappa_of_ports(rng, NEXT_AIRCRAFT)
        own = slice(place * plan.airframes, (place + 1) * plan.airframes)
        for way, sorties in zip(WAYS, (ordinary, tests, both), strict=True):
            yield from _held(way, pooled(sorties[own]), Truth(mean=mean, following=following))


@dataclass(frozen=True, kw_only=True)
class Truth:
    """Kappa at `SPEEDS_KT`: of the group's mean (speeds,), of next aircraft (ports, speeds)."""

    mean: Array
    following: Array


def _held(way: str, points: FleetPoints, truth: Truth) -> Iterator[Pooled]:
    try:
        fit, _ = fit_checked(points)
    except FleetcalError:
        none = np.full(len(SPEEDS_KT), np.nan)
        for band in BANDS:
            yield Pooled(way=way, band=band, points=0, order=-1, **dict.fromkeys(FIGURES, none))
        return
    for band, one in zip(BANDS, (fit, replace(fit, wider=(), common=None)), strict=True):
        yield Pooled(
            way=way, band=band, points=len(points.x), order=fit.order, **_figures(one, truth)
        )


def _figures(fit: PooledFit, truth: Truth) -> dict[str, Array]:
    lift = (SCALING_MPS / KT / np.array(SPEEDS_KT)) ** 2
    of_mean, of_next = fit.mean_band(0, lift), fit.next_band(0, lift)
    inside = (of_next.low <= truth.following) & (truth.following <= of_next.high)
    per = kt_per_kappa()
    return {
        "mean_kt": 0.5 * (of_mean.high - of_mean.low) * per,
        "next_kt": 0.5 * (of_next.high - of_next.low) * per,
        "error_kt": (of_mean.centre - truth.mean) * per,
        "mean_inside": ((of_mean.low <= truth.mean) & (truth.mean <= of_mean.high)).astype(float),
        "next_inside": inside.mean(axis=0),
    }


def kt_per_kappa() -> Array:
    """Return what kappa is in knots of correction at `SPEEDS_KT`."""
    at_mps = np.array(SPEEDS_KT) * KT
    return np.asarray(corrections(at_mps, 1000.0, 0.03).airspeed_per_kappa_mps / KT)


def show(plan: Plan, found: Iterable[Pooled]) -> None:
    """Print the bands' half widths, the error of the mean and coverage, with Monte Carlo errors."""
    rows = list(found)
    for band in BANDS:
        print(f"\nBands {band}; half widths and errors in kt, Monte Carlo errors behind +-")
        print(f"{'':20s}  kt  fleets points order  mean   next   rms error", end="")
        print("       mean inside %   next inside %")
        for way in WAYS:
            own = [one for one in rows if (one.way, one.band) == (way, band)]
            known = [one for one in own if np.isfinite(one.mean_kt[0])]
            for place in range(len(SPEEDS_KT) if len(known) > 1 else 0):
                print(_line(way, place, known), flush=True)
            if len(known) < len(own):
                print(f"{way:20s} no curve in {len(own) - len(known)} of {len(own)} fleets")
    _show_ports_known(plan)


def _line(way: str, place: int, known: Sequence[Pooled]) -> str:
    fleets = len(known)
    values = {name: np.array([getattr(one, name)[place] for one in known]) for name in FIGURES}
    rms = float(np.sqrt(np.mean(values["error_kt"] ** 2)))
    share, following = float(values["mean_inside"].mean()), values["next_inside"]
    rather = (share * fleets + 1.0) / (fleets + 2.0)  # no share of all or none is that sure
    return (
        f"{way:20s} {SPEEDS_KT[place]:4.0f} {fleets:6d} {np.mean([k.points for k in known]):6.1f} "
        f"{np.mean([k.order for k in known]):5.1f} {values['mean_kt'].mean():6.2f} "
        f"{values['next_kt'].mean():6.2f}  {rms:5.2f} +- {rms / np.sqrt(2 * fleets):.2f}   "
        f"{100 * share:5.1f} +- {100 * np.sqrt(rather * (1 - rather) / fleets):3.1f}   "
        f"{100 * following.mean():5.1f} +- {100 * following.std(ddof=1) / np.sqrt(fleets):3.1f}"
    )


def _show_ports_known(plan: Plan) -> None:
    """Print what as many ports would tell of their group if each were known exactly.

    Intervals of Student's t for mean and next of a normal sample (JCGM 100:2008, G.3), at one
    airspeed by itself.
    """
    ports = kappa_of_ports(np.random.default_rng(plan.seed), PORTS_OF_THE_GROUP)
    sd = ports.std(axis=0) * kt_per_kappa()
    factor = float(stats.t.ppf(0.975, plan.airframes - 1))
    mean, following = np.sqrt(1.0 / plan.airframes), np.sqrt(1.0 + 1.0 / plan.airframes)
    print(f"\n{plan.airframes} ports known exactly; half widths and error of the mean, kt")
    for speed, own in zip(SPEEDS_KT, sd, strict=True):
        print(
            f"{'':20s} {speed:4.0f} {'':19s} {factor * own * mean:6.2f} "
            f"{factor * own * following:6.2f}  {own * mean:5.2f}"
        )
    least = sd / np.sqrt(PORTS_OF_THE_GROUP)
    print(f"Group's mean worked out from {PORTS_OF_THE_GROUP} ports, +- {least.max():.3f} kt")


def _part(given: tuple[Plan, range]) -> list[Pooled]:
    return list(each_pooled(*given))


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name, usual in (("fleets", 40), ("airframes", 8), ("flights", 3), ("seed", 3)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--day", choices=list(DAYS), default="ordinary")
    given = vars(parser.parse_args())
    processes = given.pop("processes")
    plan = Plan(**given)
    parts = [
        (plan, range(first, min(first + FLEETS_AT_ONCE, plan.fleets)))
        for first in range(0, plan.fleets, FLEETS_AT_ONCE)
    ]
    with ProcessPoolExecutor(processes) as pool:
        show(plan, (one for part in pool.map(_part, parts) for one in part))


if __name__ == "__main__":
    main()
