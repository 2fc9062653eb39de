"""Where one aircraft stands against the others of its group.

The aircraft is left out, the rest is fitted, and its departure in level and
tilt is compared with what the spread between aircraft, the uncertainty of the
curve and its own uncertainty allow. The chance of so large a departure is
averaged over what the rest says of the spread. Flags hold the family-wise error
rate over all aircraft judged together: S. Holm, A simple sequentially rejective
multiple test procedure, Scandinavian Journal of Statistics 6 (1979).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.averaged import AveragedFit, LeftOut, leave_out
from fleetcal.fleet.basis import carried_along
from fleetcal.fleet.largest_departure import largest_ratio, shadow_chance
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, fit_sums, search_start
from fleetcal.fleet.sums import AircraftSums

#: Fewest aircraft in a group for a verdict on one of them.
FEWEST_FOR_VERDICT: Final = 4


@dataclass(frozen=True, kw_only=True)
class Standing:
    """One aircraft against the rest of its group.

    Attributes:
        departure (k,): Level and tilt by which the aircraft differs from the rest; shorter when its
            speeds do not determine a tilt.
        covariance (k, k): Of the departure as measured: own points and the curve of the rest.
        ratio: Departure over its standard deviation, covariance and spread between aircraft
            together, at the speed flown where that is largest; averaged.
        p_value: For this aircraft alone; NaN when no verdict is possible.
        others: Aircraft it was compared with.
    """

    aircraft: int
    departure: Array
    covariance: Array
    ratio: float
    p_value: float
    others: int


@dataclass(frozen=True)
class Departures:
    """Versions of one aircraft against the rest of its group, as in `Standing`.

    Attributes:
        departure: Shape (versions, k).
        covariance: Shape (versions, k, k).
        ratio, p_value: Shape (versions,).
    """

    departure: Array
    covariance: Array
    ratio: Array
    p_value: Array


def all_standings(
    points: FleetPoints, fit: PooledFit, suspects: frozenset[int] = frozenset()
) -> tuple[Standing, ...]:
    """Judge every aircraft against the others that are not suspect.

    Args:
        fit: Of all aircraft of `points`, for the order of the curve and the start of the search.
        suspects: Aircraft that the others are not compared with. Each must leave its group others.

    Returns:
        In the order of the aircraft, with NaN for the p-value when fewer than four aircraft, this
        one included, are left in its group, or the curve hangs on this aircraft alone.
    """
    return standings_from_sums(fit.sums, points.groups, fit, suspects)


def standings_from_sums(
    sums: AircraftSums,
    groups: int,
    fit: PooledFit,
    suspects: frozenset[int] = frozenset(),
    judged_only: Sequence[int] | None = None,
) -> tuple[Standing, ...]:
    """As `all_standings`, from per-aircraft sums of the order of `fit`.

    Args:
        judged_only: Aircraft to be judged; all when left out.

    Returns:
        In the order of `judged_only`.
    """
    trusted = np.array([a for a in range(len(sums.count)) if a not in suspects], dtype=np.int64)
    base = sums.select(trusted)
    averaged = _fit_again(base, groups, fit).averaged if suspects else fit.averaged
    judged = range(len(sums.count)) if judged_only is None else judged_only
    place = {int(aircraft): i for i, aircraft in enumerate(trusted)}
    inside = np.array([place[a] for a in judged if a in place], dtype=np.int64)
    rest_of_trusted = leave_out(averaged, base, inside)
    count = np.bincount(base.group_of, minlength=groups)
    found = []
    for aircraft in judged:
        group = int(sums.group_of[aircraft])
        if aircraft in place:
            rest, others = next(rest_of_trusted), int(count[group]) - 1
        else:
            rest, others = _group_curve(averaged, group), int(count[group])
        found.append(_compare(sums, aircraft, averaged, doubted(rest, fit, group), others))
    return tuple(found)


def standing_of(
    points: FleetPoints, aircraft: int, fit: PooledFit, suspects: frozenset[int] = frozenset()
) -> Standing:
    """Judge one aircraft against the others that are not suspect.

    Args:
        fit: Of all aircraft of `points`.
        suspects: Aircraft not to be compared with either.

    Returns:
        As `all_standings`.
    """
    group = int(points.group_of[aircraft])
    gone = suspects | {aircraft}
    others = np.array([a for a in range(len(points.group_of)) if a not in gone], dtype=np.int64)
    rest = fit.sums.select(others)
    comrades = int(np.sum(rest.group_of == group))
    if comrades < FEWEST_FOR_VERDICT - 1:
        return _no_verdict(aircraft, comrades)
    present = np.unique(rest.group_of)  # a group may have lost all its aircraft
    renumbered = replace(rest, group_of=np.searchsorted(present, rest.group_of))
    try:
        averaged = _fit_again(renumbered, len(present), fit).averaged
    except FitError:  # the curve hangs on this aircraft alone
        return _no_verdict(aircraft, comrades)
    of_group = _group_curve(averaged, int(np.searchsorted(present, group)))
    return _compare(fit.sums, aircraft, averaged, of_group, comrades)


def holm(p_values: Sequence[float]) -> Array:
    """Return p-values adjusted for having looked at all of them.

    Args:
        p_values: NaN stands for no verdict and is not counted.

    Returns:
        Holm's adjusted values, NaN where NaN was given.
    """
    values = np.asarray(p_values, dtype=np.float64)
    adjusted = np.full(len(values), np.nan)
    known = np.flatnonzero(np.isfinite(values))
    ordered = known[np.argsort(values[known], kind="stable")]
    factors = len(ordered) - np.arange(len(ordered))
    adjusted[ordered] = np.minimum(np.maximum.accumulate(factors * values[ordered]), 1.0)
    return adjusted


def rest_of_fleet(
    sums: AircraftSums, groups: int, fit: PooledFit, gone: frozenset[int], group: int
) -> tuple[AveragedFit, LeftOut, int]:
    """Fit the fleet without some aircraft, for versions of one that belongs to a group.

    Args:
        fit: Of all, for the start of the search.
        gone: Suspects, and the aircraft itself.

    Returns:
        The fit of the others averaged over the spread, their curve of the group, and how many of
        them are in it.

    Raises:
        FitError: If the others do not determine the curves.
    """
    others = np.array([a for a in range(len(sums.count)) if a not in gone], dtype=np.int64)
    base = sums.select(others)
    averaged = _fit_again(base, groups, fit).averaged
    rest = doubted(_group_curve(averaged, group), fit, group)
    return averaged, rest, int(np.sum(base.group_of == group))


def _fit_again(sums: AircraftSums, groups: int, fit: PooledFit) -> PooledFit:
    """Fit other aircraft as those of a fit were."""
    return fit_sums(sums, groups, search_start(fit), known=fit.known)


def _group_curve(averaged: AveragedFit, group: int) -> LeftOut:
    """Return the fit as it is, for an aircraft that is not in it."""
    return LeftOut(averaged.weight, averaged.beta[:, group], averaged.covariance[:, group])


def doubted(rest: LeftOut, fit: PooledFit, group: int) -> LeftOut:
    """Return a rest whose curve is doubted by as much as it is seen to miss its points.

    Args:
        fit: With the doubt of each group, if points were held against it.
    """
    if fit.bends is None or fit.bends[group] == 0.0:
        return rest
    covariance = rest.covariance.copy()
    covariance[:, 0, 0] += fit.bends[group]
    return replace(rest, covariance=covariance)


def _no_verdict(aircraft: int, others: int) -> Standing:
    return Standing(
        aircraft=aircraft,
        departure=np.zeros(0),
        covariance=np.zeros((0, 0)),
        ratio=np.nan,
        p_value=np.nan,
        others=others,
    )


def _compare(
    sums: AircraftSums, aircraft: int, averaged: AveragedFit, rest: LeftOut, others: int
) -> Standing:
    if others < FEWEST_FOR_VERDICT - 1 or not np.isfinite(rest.beta).all():
        return _no_verdict(aircraft, others)
    products = sums.products[aircraft] / averaged.phi
    found = compare_versions(
        products[:-1, :-1], products[None, :-1, -1], averaged, rest, sums.reach[aircraft]
    )
    return Standing(
        aircraft=aircraft,
        departure=found.departure[0],
        covariance=found.covariance[0],
        ratio=float(found.ratio[0]),
        p_value=float(found.p_value[0]),
        others=others,
    )


def compare_versions(
    information: Array, right: Array, averaged: AveragedFit, rest: LeftOut, reach: Array
) -> Departures:
    """Compare versions of one aircraft, flown alike with other results, with one rest.

    Args:
        information (p, p): X'R^-1X of the aircraft's points over phi, the same for all versions.
        right (versions, p): X'R^-1y over phi.
        averaged: For the spread at every node.
        rest: The others.
        reach (2,): Lowest and highest t flown.
    """
    k = averaged.spread.shape[1]
    size = _determined(information[:k, :k])
    own = np.linalg.inv(information[:size, :size])
    projection = own @ information[:size]
    departure = (right[:, :size] @ own)[:, None] - rest.beta @ projection.T
    measured = own + carried_along(projection, rest.covariance)
    between = carried_along(projection[:, :k], averaged.spread)
    ratio, angle = largest_ratio(departure, measured + between, reach)
    mean = np.einsum("n,vni->vi", rest.weight, departure)
    about = departure - mean[:, None]
    scatter = np.swapaxes(about * rest.weight[:, None], 1, 2) @ about
    chance = np.broadcast_to(shadow_chance(ratio, angle), ratio.shape) @ rest.weight
    return Departures(
        mean,
        np.einsum("n,nij->ij", rest.weight, measured) + scatter,
        ratio @ rest.weight,
        np.minimum(chance, 1.0),  # weights sum to 1 roughly
    )


def _determined(products: Array) -> int:
    """Return how many departure coefficients the aircraft's own points determine."""
    if len(products) == 1:
        return 1
    correlation = products[0, 1] ** 2 / (products[0, 0] * products[1, 1])
    return 2 if np.isfinite(correlation) and correlation < 1.0 - 1e-9 else 1
