"""What one ordinary flight usually leaves uncertain, as a plan supposes it of a store without any.

``python -m tests.airdata.simulations.usual_flight [AIRFRAMES [FLIGHTS]]`` reduces simulated
ordinary flights (`tests.airdata.simulations.ordinary`), three of each of 20 airframes, as the
services do, and learns of their points what a plan learns of those of a store.
"""

from __future__ import annotations

import sys

import numpy as np

from fleetcal.fleet.usual_sortie import usual_sortie
from seed_demo.air import KT
from tests.airdata.simulations.ordinary import ORDINARY_DAY, each_ordinary_airframe
from tests.airdata.simulations.ordinary_table import points_of
from tests.airdata.simulations.pool_of_sorties import pooled
from tests.airdata.simulations.recorder import SCALING_MPS

AT_KT = np.array([65.0, 80.0, 100.0, 115.0])


def main(airframes: int, flights: int) -> None:
    """Print points of a flight, their airspeeds and uncertainties; seeds fixed."""
    season = [
        [points_of(flight) for flight in airframe.flights]
        for airframe in each_ordinary_airframe(ORDINARY_DAY, range(airframes), flights, 5)
    ]
    points = pooled(season)
    speed = SCALING_MPS / KT / np.sqrt(points.x)
    flown = [np.flatnonzero(points.sortie == one) for one in np.unique(points.sortie)]
    print(f"{len(flown)} of {airframes * flights} flights gave {len(points.x)} points")
    for words, each in (
        ("points", [len(rows) for rows in flown]),
        ("slowest, kt", [speed[rows].min() for rows in flown]),
        ("fastest, kt", [speed[rows].max() for rows in flown]),
    ):
        quarters = np.percentile(each, [25, 50, 75])
        error = 1.25 * np.std(each) / np.sqrt(len(each))
        print(f"{words}: {' '.join(f'{q:.1f}' for q in quarters)} (quartiles; +- {error:.1f})")
    usual = usual_sortie(points, np.arange(len(points.x)))
    lift = (SCALING_MPS / KT / AT_KT) ** 2
    own, shared = usual.at(lift)
    print(f"at {AT_KT} kt, in kt: own {own * AT_KT / 2.0}, shared {shared.T * AT_KT / 2.0}")
    print(usual)


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *(20, 3)[len(given) :])
