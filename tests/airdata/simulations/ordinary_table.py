"""What ordinary flights tell of an airframe.

``python -m tests.airdata.simulations.ordinary_table``
Options: ``--airframes 200 --flights 20 --seed 5 --processes 2 --day ordinary`` (or ``rough``).
Each airframe flies ordinary flights (`tests.airdata.simulations.ordinary`), each is reduced by
the service as one that nobody chose a leg in, and its points make the airframe's own curve after
1, 5 and all flights: generalised least squares in lift with the covariance that the terms of
the budgets state. The curve is held against the
true error of the port at 65, 80, 100 and 115 kt. Truths bend as no polynomial does.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from scipy import stats

from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.position_error import corrections
from fleetcal.errors import FleetcalError
from fleetcal.flightlog import find_airspeeds
from fleetcal.services.flights.cut_legs import cut_leg
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.solve_flight import solve_flight
from seed_demo.air import KT, Array
from tests.airdata.simulations.flights import AIR, recorded_log
from tests.airdata.simulations.ordinary import (
    ORDINARY_DAY,
    ROUGH_DAY,
    OrdinaryDay,
    OrdinaryFlight,
    each_ordinary_airframe,
)
from tests.airdata.simulations.recorder import SCALING_MPS, STEPS

SPEEDS_KT = (65.0, 80.0, 100.0, 115.0)
DAYS = {"ordinary": ORDINARY_DAY, "rough": ROUGH_DAY}
DETAILS = FlightDetails(airframe=None, solve_by="flight")
NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
#: What is supposed of the bend of an own curve: standard deviation of the square term in lift.
U_BEND = 0.3


@dataclass(frozen=True)
class Held:
    """An own curve held against the truth: knots, shape (speeds,)."""

    flights: int
    error_kt: Array
    u_kt: Array


def points_of(flown: OrdinaryFlight) -> tuple[RunLine, ...]:
    """Reduce one flight; no points where it tells nothing."""
    recorded = recorded_log(flown.log)
    spans = find_airspeeds(
        recorded.t_s,
        recorded.airspeed_mps,
        recorded.track_rad,
        ReductionSettings().airspeeds,
    )
    count = 1 + max((span.airspeed for span in spans), default=-1)
    stretches = tuple(
        tuple(cut_leg(recorded, s.start, s.stop) for s in spans if s.airspeed == airspeed)
        for airspeed in range(count)
    )
    flight = Flight(
        source_name="ordinary flight",
        sha256="",
        kind="log",
        flown_on=None,
        track_reference="true",
        airspeed_from="indicated airspeed",
        leg_count=0,
        runs=(),
        manoeuvres=(),
        airspeeds=stretches,
        steps=STEPS,
        warnings=(),
        air=AIR,
    )
    try:
        return solve_flight(flight, DETAILS, Assumptions(), NO_WEIGHT).result.runs
    except FleetcalError:
        return ()


def own_curve(sorties: Sequence[Sequence[RunLine]]) -> tuple[Array, Array]:
    """Return kappa of the curve through all points at `SPEEDS_KT`, and its covariance.

    The points are weighed by what differs from point to point and from flight to flight, as the
    fit of a fleet does; the errors that last are carried through afterwards. Weights that lean
    on how these show in one flight more than in another moved all curves by -0.25 kt after
    twenty flights.
    """
    lines = [line for sortie in sorties for line in sortie]
    sortie = np.repeat(np.arange(len(sorties)), [len(one) for one in sorties])
    lift = np.array([line.load_factor * (SCALING_MPS / KT / line.vic_kt) ** 2 for line in lines])
    covariance = np.zeros((len(lines), len(lines)))
    effects: dict[tuple[str, int], Array] = {}
    for place, line in enumerate(lines):
        for term in line.terms:
            owner = {"point": place, "sortie": int(sortie[place])}.get(term.owner, -1)
            column = effects.setdefault((f"{term.owner} {term.name}", owner), np.zeros(len(lines)))
            column[place] = term.u_kappa
    lasting = [c for (name, _), c in effects.items() if name.startswith(("airframe", "fleet"))]
    for (name, _), column in effects.items():
        if not name.startswith(("airframe", "fleet")):
            covariance += np.outer(column, column)
    basis = _basis(lift)
    weighed = np.linalg.solve(covariance, basis)
    normal = basis.T @ weighed + np.diag([0.0, 0.0, 1.0 / U_BEND**2])
    found = np.linalg.inv(normal)
    at = _basis((SCALING_MPS / (np.array(SPEEDS_KT) * KT)) ** 2)
    kappa = np.array([line.kappa for line in lines])
    gain = at @ found @ weighed.T
    moved = gain @ np.array(lasting).T
    return gain @ kappa, at @ found @ at.T + moved @ moved.T


def _basis(lift: Array) -> Array:
    return np.stack([np.ones_like(lift), lift - 0.25, (lift - 0.25) ** 2], axis=1)


def held(day: OrdinaryDay, numbers: range, flights: int, seed: int) -> Iterator[Held]:
    """Fly airframes and hold their curves against the truth after 1, 5 and all flights."""
    for airframe in each_ordinary_airframe(day, numbers, flights, seed):
        sorties = [points_of(flown) for flown in airframe.flights]
        truth = airframe.kappa_at(np.array(SPEEDS_KT) * KT)
        for count in sorted({1, min(5, flights), flights}):
            told = [one for one in sorties[:count] if one]
            if sum(len(one) for one in told) < 2:
                yield Held(count, np.full(len(SPEEDS_KT), np.nan), np.full(len(SPEEDS_KT), np.nan))
                continue
            kappa, covariance = own_curve(told)
            per = [
                float(corrections(v * KT, 1000.0, 0.03).airspeed_per_kappa_mps) / KT
                for v in SPEEDS_KT
            ]
            yield Held(count, (kappa - truth) * per, np.sqrt(np.diag(covariance)) * np.array(per))


def _part(given: tuple[str, range, int, int]) -> list[Held]:
    name, numbers, flights, seed = given
    return list(held(DAYS[name], numbers, flights, seed))


def show(found: Iterable[Held]) -> None:
    """Print rms error, stated u and coverage at each speed, with Monte Carlo errors."""
    rows = list(found)
    print("flights  speed  airframes     rms         u     inside %       nothing to tell")
    for count in sorted({one.flights for one in rows}):
        own = [one for one in rows if one.flights == count]
        error, u = (np.array([getattr(one, name) for one in own]) for name in ("error_kt", "u_kt"))
        known = np.isfinite(u[:, 0])
        for place, speed in enumerate(SPEEDS_KT):
            e, su = error[known, place], u[known, place]
            rms = float(np.sqrt(np.mean(e**2)))
            share = float(np.mean(np.abs(e) <= stats.norm.ppf(0.975) * su))
            print(
                f"{count:7d} {speed:6.0f} {known.sum():10d}  {rms:.2f} +- "
                f"{rms / np.sqrt(2 * known.sum()):.2f}  {np.sqrt(np.mean(su**2)):.2f}  "
                f"{100 * share:5.1f} +- {100 * np.sqrt(share * (1 - share) / known.sum()):.1f}"
                f"   {np.sum(~known):6d}",
                flush=True,
            )


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--airframes", type=int, default=200)
    parser.add_argument("--flights", type=int, default=20)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--day", choices=list(DAYS), default="ordinary")
    given = parser.parse_args()
    at_once = 10
    parts = [
        (given.day, range(a, min(a + at_once, given.airframes)), given.flights, given.seed)
        for a in range(0, given.airframes, at_once)
    ]
    with ProcessPoolExecutor(given.processes) as pool:
        show(one for part in pool.map(_part, parts) for one in part)


if __name__ == "__main__":
    main()
