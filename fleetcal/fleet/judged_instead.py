"""What the verdict on an aircraft would be with other points, or among more aircraft.

The others are as they are; only what is known of the one aircraft changes. It is
left out once, and every version of it is judged against the same rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fleetcal.fleet.outliers import Verdicts, level_share
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.standing import Standing, holm, standings_from_sums
from fleetcal.fleet.sums import AircraftSums, aircraft_sums, joined_sums


def with_points(points: FleetPoints, aircraft: int, rows: Index, order: int) -> AircraftSums:
    """Return the sums of one aircraft from some of its points.

    Args:
        rows (n,): At least one.
        order: Of the curve.

    Returns:
        Of one aircraft, in its group.
    """
    alone = FleetPoints(
        x=points.x[rows],
        y=points.y[rows],
        u_own=points.u_own[rows],
        u_shared=points.u_shared[rows],
        sortie=points.sortie[rows],
        aircraft=np.zeros(len(rows), dtype=np.int64),
        group_of=np.zeros(1, dtype=np.int64),
        u_airframe=points.u_airframe[rows],
        u_fleet=points.u_fleet[rows],
    )
    sums = aircraft_sums(alone).with_order(order)
    return replace(sums, group_of=points.group_of[[aircraft]])


def measured_again(sums: AircraftSums, aircraft: int, times: float) -> AircraftSums:
    """Return the sums of one aircraft as if all its points had been flown several times.

    Args:
        times: Every measurement as often, with the same result; 1 changes nothing.

    Returns:
        Of one aircraft.
    """
    alone = sums.select(np.array([aircraft]))
    return replace(alone, products=times * alone.products)


def judge_instead(
    verdicts: Verdicts, aircraft: int, versions: Sequence[AircraftSums], more: Sequence[int] = ()
) -> list[tuple[Standing, float]]:
    """Judge versions of one aircraft against the same others.

    Args:
        verdicts: In which the aircraft has a verdict.
        versions: Each of one aircraft.
        more: Aircraft that are there once more, as if others like them had been flown.

    Returns:
        Of each version, with the p-value adjusted for all that were judged.

    Raises:
        FitError: If the others do not determine the curve.
    """
    sums = verdicts.fit.sums
    joined = joined_sums([sums, *versions, sums.select(np.array(more, dtype=np.int64))])
    first = len(sums.count)
    numbers = range(first, first + len(versions))
    apart = verdicts.suspects | {aircraft} | set(numbers)
    standings = standings_from_sums(joined, len(verdicts.fit.beta), verdicts.fit, apart, numbers)
    return [
        (standing, adjusted_instead(verdicts, aircraft, standing.p_value, len(more)))
        for standing in standings
    ]


def adjusted_instead(
    verdicts: Verdicts, aircraft: int | None, p_value: float, more: int = 0
) -> float:
    """Return Holm's adjusted p-value of one aircraft with another p-value of its own.

    Args:
        aircraft: None for one that had no verdict yet.
        more: Further aircraft that would be judged, all inside.
    """
    values: Array = np.array([standing.p_value for standing in verdicts.standings])
    if aircraft is None:
        values = np.r_[values, p_value]
    else:
        values[aircraft] = p_value
    values = np.r_[values, np.ones(more)]
    place = len(verdicts.standings) if aircraft is None else aircraft
    return float(min(holm(list(values))[place] / level_share(0, len(values), verdicts.fit), 1.0))
