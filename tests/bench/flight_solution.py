"""Time the solve of ordinary flights of growing length against a general library.

``python -m tests.bench.flight_solution``

An hour once a second, and 15 minutes to eight hours, of one simulated flight after the other.
What somebody would use otherwise is `scipy.optimize.least_squares` with a wind node every five
minutes joined by straight lines, and a kappa an airspeed, on the same samples' half-minute
means: one fit, which supposes how smooth the wind is and gives no uncertainty of that.
"""

from __future__ import annotations

import statistics
import time
import tracemalloc
from dataclasses import replace

import numpy as np
from scipy.optimize import least_squares

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import Pieces, Stretch, cut
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.solve_pieces import FlightWind, solve_pieces
from fleetcal.airdata.wind_strengths import AirPrior
from fleetcal.flightlog import find_airspeeds
from fleetcal.units import MPS_PER_KT
from tests.airdata.simulations.ordinary import ORDINARY_DAY, OrdinaryLog, ordinary_flights
from tests.airdata.simulations.recorder import RECOVERY

MINUTES = (15, 30, 60, 120, 240, 480)
TIMES = 5
NODE_EVERY_S = 300.0


def stretches_of(log: OrdinaryLog) -> list[Stretch]:
    """Return the stretches at one airspeed of a flight."""
    spans = find_airspeeds(log.time_s, log.airspeed_mps, np.arctan2(log.east_mps, log.north_mps))
    return [
        Stretch(
            group=span.airspeed,
            time_s=log.time_s[own],
            east_mps=log.east_mps[own],
            north_mps=log.north_mps[own],
            readings=Readings(
                airspeed_mps=log.airspeed_mps[own],
                altitude_m=log.altitude_m[own],
                temperature_k=log.temperature_k[own],
                recovery_factor=np.asarray(RECOVERY),
                relative_humidity=np.asarray(0.55),
            ),
        )
        for span in spans
        for own in (slice(span.start, span.stop),)
    ]


def as_long(stretches: list[Stretch], minutes: float) -> Pieces:
    """Return a flight cut off, or flown again and again, to so many minutes."""
    lasting = stretches[-1].time_s[-1] + 60.0
    again = [
        replace(one, time_s=one.time_s + turn * lasting)
        for turn in range(int(np.ceil(minutes * 60.0 / lasting)))
        for one in stretches
    ]
    kept = [one for one in again if one.time_s[-1] <= minutes * 60.0]
    numbers = {group: i for i, group in enumerate(sorted({one.group for one in kept}))}
    return cut([replace(one, group=numbers[one.group]) for one in kept])


def by_scipy(pieces: Pieces) -> Array:
    """Return the kappas by one least-squares fit with a wind of straight lines."""
    nodes = np.arange(0.0, pieces.time_s[-1] + NODE_EVERY_S, NODE_EVERY_S)
    readings = pieces.mean_readings()
    east, north = pieces.mean(pieces.east_mps), pieces.mean(pieces.north_mps)
    count = len(nodes)

    def residual(unknown: Array) -> Array:
        wind = [
            np.interp(pieces.time_s, nodes, part) for part in unknown[: 2 * count].reshape(2, -1)
        ]
        speed, _ = readings.true_airspeed(unknown[2 * count :][pieces.group])
        return np.asarray(np.hypot(east - wind[0], north - wind[1]) - speed)

    start = np.zeros(2 * count + pieces.groups)
    return np.asarray(least_squares(residual, start).x[2 * count :])


def main() -> None:
    """Print seconds (medians of five), memory, the ratio for an hour and the growth."""
    (airframe,) = ordinary_flights(ORDINARY_DAY, 1, 1, seed=5)
    stretches = stretches_of(airframe.flights[0].log)
    print("minutes  pieces      s  peak MB")
    took = []
    for minutes in MINUTES:
        pieces = as_long(stretches, minutes)
        seconds = [_timed(pieces)[0] for _ in range(TIMES)]
        tracemalloc.start()
        solve_pieces(pieces, AirPrior())
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        took.append(statistics.median(seconds))
        print(f"{minutes:7d} {len(pieces.time_s):7d} {took[-1]:6.3f} {peak:8.1f}", flush=True)
    growth = np.polyfit(np.log(MINUTES[2:]), np.log(took[2:]), 1)[0]
    print(f"growth with length from an hour on: exponent {growth:.2f}")
    _against_scipy(as_long(stretches, 60))


def _timed(pieces: Pieces) -> tuple[float, FlightWind]:
    begun = time.perf_counter()
    found = solve_pieces(pieces, AirPrior())
    return time.perf_counter() - begun, found


def _against_scipy(pieces: Pieces) -> None:
    ratios = []
    for _ in range(TIMES):
        ours, found = _timed(pieces)
        begun = time.perf_counter()
        theirs = by_scipy(pieces)
        ratios.append((time.perf_counter() - begun) / ours)
    apart = np.abs(found.kappa - theirs) * found.looked.slope_mps.mean() / MPS_PER_KT
    print(
        f"an hour by scipy.optimize.least_squares takes {statistics.median(ratios):.1f} times as "
        f"long; its airspeeds differ by {', '.join(f'{one:.2f}' for one in apart)} kt"
    )


if __name__ == "__main__":
    main()
