"""The runs of a flight judged together: one air that they all flew in.

A run is not accepted only if its wind (4 kt) or its spare legs (3 kt) are far off and that
is improbable after what the other runs show. Where most runs agree they alone are the
measure, so that two typing errors hide nothing. Runs more than 300 m apart in height are
not compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions, air_prior
from fleetcal.airdata.flight_pieces import LEG_EVERY_S, Stretch, cut
from fleetcal.airdata.joining import chance_of_joining
from fleetcal.airdata.solve_pieces import FlightWind, shows_no_scatter, solve_pieces
from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.flights.part_words import part_word
from fleetcal.services.flights.solve_run import Run, leg_residuals, spare_residual
from fleetcal.units import MPS_PER_KT

#: A wind that changes by more than this in ten minutes is told, kt.
CHANGING_KT: Final = 2.0
#: A run may not join the others from this distance of its wind on, kt.
JUMP_KT: Final = 4.0
#: Spare legs of a run may not join the others from so many times what was supposed on, and
#: from so many knots: less is the air's doing, which widens the uncertainty.
LARGEST_DISAGREEMENT: Final = 4.0
LARGEST_DISAGREEMENT_KT: Final = 3.0
#: Chance of a sound run being called one that does not join, shared out among the runs.
CHANCE: Final = 0.01
#: Winds further apart in height than this are not compared, m.
_SAME_HEIGHT_M: Final = 300.0


@dataclass(frozen=True)
class PlacedRun:
    """A run within a solved flight: its group, and the place of its first stretch."""

    run: Run
    flight: FlightWind
    group: int
    first: int


@dataclass(frozen=True)
class SortieWind:
    """What the runs of a flight show of the wind.

    Attributes:
        joined: Solved together, those that join each other; at least one.
        alone: Each by itself, those that do not.
        doubts: Why a run does not join the others, by its number.
        lacks_scatter: Whether a solve took the leg scatter of earlier flights, if there was one.
    """

    joined: tuple[PlacedRun, ...]
    alone: tuple[PlacedRun, ...]
    doubts: dict[int, str]
    lacks_scatter: bool

    @property
    def air(self) -> FlightWind:
        """The flight of the runs that join."""
        return self.joined[0].flight


def sortie_wind(runs: Sequence[Run], assumptions: Assumptions) -> SortieWind:
    """Solve the runs of a flight under one moving wind, but for those that do not join.

    Args:
        runs: At least one; none refused.
    """
    left, doubts = {run.number: run for run in _on_one_clock(runs)}, dict[int, str]()
    every = dict(left)
    while runs[0].technique != ORDINARY_FLIGHT:  # whose parts are no measurements by themselves
        worst = _least_joining(left, assumptions)
        if worst is None:
            break
        number, why = worst
        doubts[number] = why
        if len(left) == 1:
            break
        del left[number]
    together = _solved(list(left.values()), assumptions)
    alone = [
        one
        for number, run in every.items()
        if number not in left
        for one in _solved([run], assumptions)
    ]
    return SortieWind(
        joined=together,
        alone=tuple(alone),
        doubts=dict(sorted(doubts.items())),
        lacks_scatter=any(shows_no_scatter(placed.flight.pieces) for placed in [*together, *alone]),
    )


def _solved(runs: Sequence[Run], assumptions: Assumptions) -> tuple[PlacedRun, ...]:
    stretches: list[Stretch] = []
    firsts = []
    for group, run in enumerate(runs):
        firsts.append(len(stretches))
        stretches += run.stretches(group)
    flight = solve_pieces(
        cut(stretches),
        air_prior(assumptions),
        assumptions.u_ground_speed_mps,
        assumptions.leg_scatter_mps,
    )
    return tuple(
        PlacedRun(run, flight, group, first)
        for group, (run, first) in enumerate(zip(runs, firsts, strict=True))
    )


def wind_sentences(wind: SortieWind) -> tuple[str, ...]:
    """Say that the wind changed, and which parts of the flight do not join.

    Returns:
        Empty where the wind was steady.
    """
    air = wind.air
    change = f"changed steadily by {air.drift_kt:.1f} kt"
    if air.drift_kt <= CHANGING_KT:
        change = f"wandered by {air.wander_kt:.1f} kt"
    changing = max(air.drift_kt, air.wander_kt) > CHANGING_KT
    parts = part_word(wind.joined[0].run.technique, 2)
    change_words = (
        f"the wind {change} in ten minutes; the {parts} are solved under one wind that moves, and "
        "what stays open is in their uncertainty",
    )
    return (*(change_words if changing else ()), *wind.doubts.values())


def _on_one_clock(runs: Sequence[Run]) -> list[Run]:
    """Give legs without times one each minute and a half."""
    if all(run.is_timed for run in runs):
        return list(runs)
    timed, place = [], 0
    for run in runs:
        legs = []
        for leg in run.legs:
            legs.append(replace(leg, time_s=np.array([LEG_EVERY_S * place])))
            place += 1
        timed.append(replace(run, legs=tuple(legs)))
    return timed


def _least_joining(left: dict[int, Run], assumptions: Assumptions) -> tuple[int, str] | None:
    """Return the run that is least like the others, with the reason; None if all join."""
    apart = {number: _why_apart(left, number, _near(left, number)) for number in left}
    found = []
    for number, why in apart.items():
        if not why:
            continue
        near = _near(left, number)
        joining = [n for n in near if not apart[n] or _apart_kt(left[n], left[number]) < JUMP_KT]
        if 2 * len(joining) > len(near) + 1:  # most runs agree, so two odd ones hide nothing
            near = joining
        others = [left[n] for n in near if n != number]
        chance = 0.0  # a run alone has nothing to explain it
        if others:
            stretches = [s for group, run in enumerate(others) for s in run.stretches(group)]
            own = left[number].stretches(len(others))
            chance = len(left) * chance_of_joining(own, stretches, air_prior(assumptions))
        if chance <= CHANCE:
            found.append((chance, number, why))
    if not found:
        return None
    _, number, why = min(found)
    return number, why


def _wind(run: Run) -> Array:
    return np.asarray(run.alone.wind_mps.mean(axis=0))


def _apart_kt(one: Run, other: Run) -> float:
    return float(np.hypot(*(_wind(one) - _wind(other)))) / MPS_PER_KT


def _near(left: dict[int, Run], number: int) -> list[int]:
    height = left[number].altitude_m()
    return [n for n, run in left.items() if abs(run.altitude_m() - height) <= _SAME_HEIGHT_M]


def _why_apart(left: dict[int, Run], number: int, near: list[int]) -> str:
    """Return what is unlike the other runs and large; empty if nothing is."""
    run = left[number]
    others = np.array([_wind(left[n]) for n in near if n != number])
    if len(others) > 1:  # of two nobody can tell which is wrong
        apart = np.hypot(*(_wind(run) - np.median(others, axis=0))) / MPS_PER_KT
        if apart >= JUMP_KT:
            return (
                f"the wind of run {number} jumps: it is {apart:.0f} kt from that of the other "
                "runs; look for a typing error in its legs, or a leg flown in other air"
            )
    if not run.has_legs:
        return ""
    residual_mps = spare_residual(leg_residuals(run.alone, 0, len(run.legs)))
    if residual_mps is None:
        return ""
    residual = residual_mps / MPS_PER_KT
    supposed = float(np.median(run.alone.supposed_mps)) / MPS_PER_KT
    if residual <= max(LARGEST_DISAGREEMENT * supposed, LARGEST_DISAGREEMENT_KT):
        return ""
    return (
        f"spare legs disagree by {residual:.1f} kt in run {number} where {supposed:.1f} kt is to "
        "be expected: the wind changed, or a leg is bad"
    )
