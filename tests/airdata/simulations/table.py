"""What the services make of simulated flights, one line a condition.

Every flight goes through `solve_flight`, legs and manoeuvres alike, as a recorded
one does. Errors and uncertainties are of dVpc in knots. `rms` and `own u` are of
the flights recorded by instruments that are right, without the terms that the
instruments have in the budget; all other columns are of the same flights with
the instruments' errors drawn once a flight.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import FleetcalError
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.solve_flight import solve_flight
from seed_demo.air import Array
from tests.airdata.simulations.conditions import Condition
from tests.airdata.simulations.flights import SimulatedFlight, box_flights, circle_flights

INSTRUMENT_TERMS = (
    *("outside-air temperature", "recovery factor", "humidity", "airspeed indicator", "altimeter"),
)
HEADING = (
    f"{'':34s}    n   rms  own u | rms all  U95 all   inside %      accepted %  "
    "inside, of accepted %  warned %"
)


@dataclass(frozen=True, kw_only=True)
class Solved:
    """One solved run against its truth; `flight` tells which runs belong together."""

    flight: int
    error_kt: float
    own_u_kt: float
    expanded_kt: float
    accepted: bool
    warned: bool

    @property
    def inside(self) -> bool:
        """Whether the 95 % interval holds the truth."""
        return abs(self.error_kt) <= self.expanded_kt


@dataclass(frozen=True, kw_only=True)
class TableLine:
    """A condition in figures: knots, and shares with their Monte Carlo errors."""

    runs: int
    rms_kt: float
    own_u_kt: float
    rms_all_kt: float
    expanded_kt: float
    inside: tuple[float, float]
    accepted: float
    inside_accepted: tuple[float, float]
    warned: float


def by_legs(condition: Condition, flights: int, seed: int) -> TableLine:
    """Return what solving by legs gives."""
    return _line(box_flights, "legs", condition, flights, seed)


def by_manoeuvres(condition: Condition, flights: int, seed: int) -> TableLine:
    """Return what solving two full circles gives."""
    return _line(circle_flights, "manoeuvres", condition, flights, seed)


def solved(simulated: list[SimulatedFlight], solve_by: str) -> list[Solved]:
    """Solve flights and hold each run against its truth; refused runs are absent.

    Args:
        solve_by: ``legs`` or ``manoeuvres``.
    """
    weight = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
    details = FlightDetails(airframe=None, solve_by=solve_by)
    found = []
    for number, one in enumerate(simulated):
        try:
            result = solve_flight(one.flight, details, Assumptions(), weight).result
        except FleetcalError:
            continue
        for line in result.runs:
            warned = bool(result.warnings or line.reason)
            found.append(_held_against(number, line, one, warned))
    return found


def errors_of_flights(simulated: list[SimulatedFlight], runs: int) -> list[Array]:
    """Return the errors of the runs of each flight by legs, kt; of flights solved completely."""
    errors: dict[int, list[float]] = {}
    for run in solved(simulated, "legs"):
        errors.setdefault(run.flight, []).append(run.error_kt)
    return [np.array(one) for one in errors.values() if len(one) == runs]


def _held_against(number: int, line: RunLine, one: SimulatedFlight, warned: bool) -> Solved:
    kt_per_kappa = line.u_dvpc_kt / line.u_kappa
    own = [term.u_kappa for term in line.terms if term.name not in INSTRUMENT_TERMS]
    return Solved(
        flight=number,
        error_kt=float((line.kappa - one.kappa[line.run - 1]) * kt_per_kappa),
        own_u_kt=float(np.sqrt(np.sum(np.square(own))) * kt_per_kappa),
        expanded_kt=line.U95_dvpc_kt,
        accepted=line.accepted,
        warned=warned,
    )


def _line(
    fly: Callable[..., list[SimulatedFlight]],
    solve_by: str,
    condition: Condition,
    flights: int,
    seed: int,
) -> TableLine:
    right = solved(fly(condition, flights, seed, faults=False), solve_by)
    wrong = solved(fly(condition, flights, seed, faults=True), solve_by)
    accepted = [one for one in wrong if one.accepted]
    if not wrong:
        return TableLine(
            runs=0,
            rms_kt=np.nan,
            own_u_kt=np.nan,
            rms_all_kt=np.nan,
            expanded_kt=np.nan,
            inside=(np.nan, np.nan),
            accepted=0.0,
            inside_accepted=(np.nan, np.nan),
            warned=np.nan,
        )
    return TableLine(
        runs=len(wrong),
        rms_kt=_rms(right),
        own_u_kt=float(np.mean([one.own_u_kt for one in right])),
        rms_all_kt=_rms(wrong),
        expanded_kt=float(np.mean([one.expanded_kt for one in wrong])),
        inside=share_inside(wrong),
        accepted=len(accepted) / len(wrong),
        inside_accepted=share_inside(accepted),
        warned=float(np.mean([one.warned for one in wrong])),
    )


def _rms(runs: list[Solved]) -> float:
    return float(np.sqrt(np.mean([one.error_kt**2 for one in runs])))


def share_inside(runs: list[Solved]) -> tuple[float, float]:
    """Return the share, and its error from the scatter between flights, whose runs err alike."""
    if not runs:
        return np.nan, np.nan
    share = float(np.mean([one.inside for one in runs]))
    excess: dict[int, float] = {}
    for one in runs:
        excess[one.flight] = excess.get(one.flight, 0.0) + one.inside - share
    return share, float(np.sqrt(np.sum(np.square(list(excess.values())))) / len(runs))


def line_text(name: str, line: TableLine) -> str:
    """Return one line of the table."""
    inside, accepted = (
        f"{100.0 * share:5.1f} +- {100.0 * error:3.1f}"
        for share, error in (line.inside, line.inside_accepted)
    )
    return (
        f"{name:34s} {line.runs:4d} {line.rms_kt:5.2f} {line.own_u_kt:6.2f} | "
        f"{line.rms_all_kt:7.2f} {line.expanded_kt:8.2f}   {inside}   "
        f"{100.0 * line.accepted:8.1f}        {accepted}         {100.0 * line.warned:6.1f}"
    )
