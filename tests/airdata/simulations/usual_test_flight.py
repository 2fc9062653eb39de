"""What one test flight usually leaves uncertain, as a plan supposes it of a store without any.

``python -m tests.airdata.simulations.usual_test_flight [AIRFRAMES]`` reduces simulated test flights
(`tests.airdata.simulations.dedicated`), two of each of 40 airframes, a box of legs at each of four
airspeeds, as the services do, and learns of their points what a plan learns of those of a store.
"""

from __future__ import annotations

import sys

import numpy as np

from fleetcal.fleet.usual_sortie import usual_sortie
from fleetcal.services.curves.own_points import own_points
from seed_demo.air import KT
from tests.airdata.simulations.dedicated import dedicated_flights
from tests.airdata.simulations.ordinary_table import DAYS
from tests.airdata.simulations.own_curve_table import drawn
from tests.airdata.simulations.plans import box_plan
from tests.airdata.simulations.pool_of_sorties import pooled, pooled_rows, solved_legs
from tests.airdata.simulations.recorder import SCALING_MPS

AT_KT = np.array([65.0, 80.0, 100.0, 125.0])
FLOWN_KT = (125.0, 105.0, 80.0, 65.0)
_SEED = 17


def main(airframes: int) -> None:
    """Print points of a flight and their uncertainties; seeds fixed."""
    rngs = [np.random.default_rng([_SEED, n]) for n in range(airframes)]
    fleet = [drawn("drawn", rng) for rng in rngs]
    flights = [
        dedicated_flights(DAYS["ordinary"], fleet, rngs, box_plan(FLOWN_KT)) for _ in range(2)
    ]
    sorties = [[solved_legs(one[n]) for one in flights] for n in range(airframes)]
    points = pooled(sorties)
    usual = usual_sortie(points, np.arange(len(points.x)))
    lift = (SCALING_MPS / KT / AT_KT) ** 2
    own, shared = usual.at(lift)
    print(f"{2 * airframes} flights gave {len(points.x)} points; Vs {SCALING_MPS / KT:.1f} kt")
    print(f"at {AT_KT} kt, in kt: own {own * AT_KT / 2.0}, shared {shared.T * AT_KT / 2.0}")
    print(usual)
    lasting = np.sqrt(np.sum(own_points(pooled_rows(sorties)).lasting ** 2, axis=1))
    error = 1.25 * lasting.std() / np.sqrt(len(lasting))
    print(f"lasting, of kappa: median {np.median(lasting):.5f} +- {error:.5f}")


if __name__ == "__main__":
    main(*[int(word) for word in sys.argv[1:]] or (40,))
