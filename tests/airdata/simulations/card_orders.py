"""What the order of headings and speeds on a test card is worth: one flight, many ways to fly it.

``python -m tests.airdata.simulations.card_orders [FLIGHTS]`` flies each card (100 flights) in
airs of no class that the solve supposes, with gusts that the pitot feels, by instruments that
are right; each card has flights of its own. The figures are root mean squares of what wind and
gusts leave in dVpc, knots: of single runs, of the mean of a flight, and of the line over airspeed
through its runs: averaged over 80 to 110 kt, and what it rises by over these.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace

import numpy as np

from seed_demo.air import KT
from tests.airdata.simulations import table
from tests.airdata.simulations.air import Air
from tests.airdata.simulations.conditions import MILD
from tests.airdata.simulations.flights import SimulatedFlight, card_flights
from tests.airdata.simulations.plans import BOX, Plan, box_plan

FOUR = (110.0, 100.0, 90.0, 80.0)
READ_AT_KT = np.arange(80.0, 111.0, 5.0)
AIRS = {
    "veer 20 deg in ten minutes, 20 kt": Air(
        wind_kt=20.0, veer_deg_in_ten_minutes=20.0, gust_mps=0.3
    ),
    "slow wind 2 kt": Air(slow_kt=2.0, gust_mps=0.3),
    "gusts, veer, wander and shear": MILD,
}


@dataclass(frozen=True)
class Card:
    """A card, and whether the turns between its legs are in the log."""

    plan: Plan
    turns: bool = True


CARDS = {
    "one order of headings": Card(box_plan(FOUR)),
    "order alternating": Card(box_plan(FOUR, alternating=True)),
    "each run turned on by 45 deg": Card(box_plan(FOUR, turned_deg=45.0)),
    "one order, turns not logged": Card(box_plan(FOUR), turns=False),
    "alternating, turns not logged": Card(box_plan(FOUR, alternating=True), turns=False),
    "fast and slow in turn": Card(box_plan((110.0, 80.0, 100.0, 90.0))),
    "five runs, the last speed twice": Card(box_plan((*FOUR, FOUR[-1]))),
    "five runs, the first speed twice": Card(box_plan((FOUR[0], *FOUR))),
    "five runs, the first again at end": Card(box_plan((*FOUR, FOUR[0]))),
}


def flight_errors(card: Card, air: Air, flights: int, seed: int) -> list[tuple[float, ...]]:
    """Return, for each flight, mean squares of runs, mean, line and its rise, kt^2."""
    flown = card_flights(air, card.plan, flights, seed)
    if not card.turns:
        flown = [without_turns(one) for one in flown]
    speeds = [card.plan.airspeed_mps[card.plan.run == k].mean() for k in range(card.plan.runs)]
    knots = np.array(speeds) / KT
    found = []
    for of_flight in table.errors_of_flights(flown, len(knots)):
        line = np.polyval(np.polyfit(knots, of_flight, 1), READ_AT_KT)
        rises = line[-1] - line[0]
        found.append((np.mean(of_flight**2), np.mean(of_flight) ** 2, np.mean(line**2), rises**2))
    return [tuple(map(float, squares)) for squares in found]


def without_turns(one: SimulatedFlight) -> SimulatedFlight:
    """Return a flight whose log has only its legs."""
    runs = tuple(replace(run, turns=(None,) * (len(BOX) - 1)) for run in one.flight.runs)
    return replace(one, flight=replace(one.flight, runs=runs))


def main(flights: int) -> None:
    """Print a line for each air and card; seeds fixed."""
    print(
        f"dVpc, kt rms of {flights} flights +- Monte Carlo: runs | mean of flight | line | its rise"
    )
    for number, (words, air) in enumerate(AIRS.items()):
        print(words)
        for name, card in CARDS.items():
            squares = np.array(flight_errors(card, air, flights, 330 + number))
            mean = np.sqrt(squares.mean(axis=0))
            error = squares.std(axis=0) / np.sqrt(len(squares)) / (2.0 * mean)
            told = " | ".join(f"{m:.3f} +- {e:.3f}" for m, e in zip(mean, error, strict=True))
            print(f"  {name:33s} {told}  ({len(squares)} flights)", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
