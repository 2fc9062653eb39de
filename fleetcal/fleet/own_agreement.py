"""Which points disagree with their own aircraft, told apart from an aircraft that is off.

Every point is foretold from the other points of its aircraft, whose level and
tilt are free, and every sortie likewise from the other sorties. The worst is
named if it is too far off for all that were looked at, set aside, and the rest
is looked at again. Since the aircraft's line is its own, an aircraft that is off
names none of its points. Where other points of the aircraft would explain the
disagreement nearly as well, they are told with it: with few points nobody can
tell which one it is. There the group helps: how aircraft differ tells which of
them leaves a more likely aircraft behind. The factor on the variances is
estimated without the point in question, and never below 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.basis import DEPARTURE
from fleetcal.fleet.largest_departure import largest_ratio, shadow_chance
from fleetcal.fleet.own_lines import (
    LeftOver,
    OtherLines,
    OwnLine,
    left_by_others,
    left_over,
    line_numbers,
    own_line,
)
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit

#: Chance that anything at all is named in a fleet where nothing is wrong.
LEVEL: Final = 0.05
#: Another point explains a disagreement nearly as well if it is no less likely than one in so many.
NEARLY_AS_WELL: Final = 20.0
#: Most points and sorties that are named: for time's sake.
MOST_NAMED: Final = 30
_FACTORS: Final = (np.arange(200) + 0.5) / 200.0


@dataclass(frozen=True, kw_only=True)
class OwnTest:
    """One point, or one sortie, against the rest of its own aircraft.

    Attributes:
        points: The point, or the points of the sortie.
        away: By how much it is off, in y: of a sortie, in the middle of its speeds.
        u_away: Standard uncertainty of that.
        chance: Of so large a disagreement where nothing is wrong, for this one alone.
    """

    aircraft: int
    points: Index
    is_sortie: bool
    away: float
    u_away: float
    chance: float


@dataclass(frozen=True)
class Disagreement:
    """A point or a sortie that disagrees with its own aircraft.

    Attributes:
        found: The most likely one.
        adjusted: Chance, allowing for all points and sorties looked at.
        or_these: Other points, or the points of other sorties, of the same aircraft that would
            explain it nearly as well.
    """

    found: OwnTest
    adjusted: float
    or_these: tuple[Index, ...]


@dataclass(frozen=True)
class OwnAgreement:
    """How the points of aircraft agree with their own aircraft.

    Attributes:
        named: The surest first.
        lines (aircraft, 5): What is left without those named, see `line_numbers`.
        tests (aircraft,): Points and sorties that were looked at.
    """

    named: tuple[Disagreement, ...]
    lines: Array
    tests: Index


def own_tests(points: FleetPoints, order: int) -> tuple[OwnTest, ...]:
    """Foretell every point and every sortie from the rest of its aircraft.

    Args:
        order: Of the groups' curves; a bend is shared by a group.

    Returns:
        Of those that the rest of the aircraft says anything of.
    """
    lines = [own_line(points, rows) for rows in points.rows_by_aircraft()]
    return _tests(points, tuple(lines), order)


def own_disagreements(
    points: FleetPoints,
    fit: PooledFit,
    odd: frozenset[int] = frozenset(),
    level: float = LEVEL,
) -> tuple[Disagreement, ...]:
    """Name the points and sorties that disagree with their own aircraft, as `own_agreement`."""
    return own_agreement(points, fit, odd, level).named


def own_agreement(
    points: FleetPoints,
    fit: PooledFit,
    odd: frozenset[int] = frozenset(),
    level: float = LEVEL,
    others: OtherLines | None = None,
    looked_at: int = 0,
) -> OwnAgreement:
    """Name the points and sorties that disagree with their own aircraft.

    Args:
        fit: Of `points`, and of the other aircraft, for the order and for how aircraft differ.
        odd: Aircraft of which the others tell nothing: what aircraft are like does not help to tell
            which of their points it is.
        level: Chance of naming any where nothing is wrong.
        others: Of aircraft whose points are not at hand.
        looked_at: Points and sorties of those that were looked at.
    """
    rows = points.rows_by_aircraft()
    lines = [own_line(points, own) for own in rows]
    named: list[Disagreement] = []
    first = tests = _tests(points, tuple(lines), fit.order, others)
    while tests and len(named) < MOST_NAMED:
        worst = min(tests, key=lambda test: (test.chance, len(test.points)))
        adjusted = min(worst.chance * (len(tests) + looked_at), 1.0)
        if adjusted >= level:
            break
        likely = _most_likely(points, lines[worst.aircraft], worst, tests=tests, fit=fit, odd=odd)
        named.append(Disagreement(likely[0], adjusted, tuple(test.points for test in likely[1:])))
        a = worst.aircraft
        rows[a] = np.setdiff1d(rows[a], likely[0].points)
        lines[a] = own_line(points, rows[a])
        tests = _tests(points, tuple(lines), fit.order, others)
    counted = np.bincount([test.aircraft for test in first], minlength=len(lines))
    return OwnAgreement(tuple(named), line_numbers(lines), counted)


def _tests(
    points: FleetPoints, lines: tuple[OwnLine, ...], order: int, others: OtherLines | None = None
) -> tuple[OwnTest, ...]:
    left = left_over(lines, points.group_of, order > 1, others)
    found: list[OwnTest] = []
    for aircraft, line in enumerate(lines):
        found += _point_tests(aircraft, line, left)
        found += _sortie_tests(aircraft, line, left)
    return tuple(found)


def _point_tests(aircraft: int, line: OwnLine, left: LeftOver) -> list[OwnTest]:
    precision = np.diag(left.precision[aircraft])
    known = np.flatnonzero(left_by_others(line, left.precision[aircraft]))
    if not len(known):
        return []
    precision, pull = precision[known], left.residual[aircraft][known]
    square = pull**2 / precision
    factor, free = _factor_without(left, square, 1)
    ratio = np.sqrt(square / factor)
    chance = np.where(factor > 1.0, 2.0 * special.stdtr(free, -ratio), 2.0 * special.ndtr(-ratio))
    return [
        OwnTest(
            aircraft=aircraft,
            points=line.rows[[i]],
            is_sortie=False,
            away=float(e / p),
            u_away=float(np.sqrt(f / p)),
            chance=float(c),
        )
        for i, e, p, f, c in zip(known, pull, precision, factor, chance, strict=True)
    ]


def _sortie_tests(aircraft: int, line: OwnLine, left: LeftOver) -> list[OwnTest]:
    found = []
    sorties = np.unique(line.sortie)
    for sortie in sorties if len(sorties) > 1 else ():
        mine = line.sortie == sortie
        if np.sum(mine) < 2:  # it is judged as a point
            continue
        test = _sortie_test(aircraft, line, mine, left)
        if test is not None:
            found.append(test)
    return found


def _sortie_test(aircraft: int, line: OwnLine, mine: Array, left: LeftOver) -> OwnTest | None:
    """Give the sortie a level and tilt of its own, and judge that where it is largest."""
    own = np.where(mine[:, None], line.z, 0.0)
    known = own.T @ left.precision[aircraft] @ own
    size = _determined(known, own.T @ line.precision @ own)
    if size == 0:
        return None
    pull = (own.T @ left.residual[aircraft])[:size]
    covariance = np.linalg.inv(known[:size, :size])
    shift = covariance @ pull
    factor, free = _factor_without(left, np.asarray(pull @ shift), size)
    t = line.z[mine, 1]
    ratio, angle = largest_ratio(
        shift, np.asarray(covariance * float(factor)), np.array([t.min(), t.max()])
    )
    chance = float(_shadow_chance(ratio, angle, free if factor > 1.0 else np.inf))
    middle = np.array([1.0, float(t.mean())])[:size]
    variance = float(factor) * float(middle @ covariance @ middle)
    return OwnTest(
        aircraft=aircraft,
        points=line.rows[mine],
        is_sortie=True,
        away=float(middle @ shift),
        u_away=float(np.sqrt(variance)),
        chance=chance,
    )


def _determined(known: Array, without_fit: Array) -> int:
    """Return how many of level and tilt of a sortie the other sorties say anything of."""
    if known[0, 0] <= 1e-6 * without_fit[0, 0]:
        return 0
    tilt = known[1, 1] - known[0, 1] ** 2 / known[0, 0]
    return DEPARTURE if tilt > 1e-6 * without_fit[1, 1] else 1


def _factor_without(left: LeftOver, square: Array, size: int) -> tuple[Array, float]:
    """Return the factor on the variances by all but what is looked at, and its freedom."""
    free = left.free - size
    if free < 1:
        return np.ones_like(square), 1.0
    return np.maximum((left.square - square) / free, 1.0), float(free)


def _shadow_chance(ratio: Array, angle: Array, free: float) -> Array:
    """Return the chance of so long a shadow when the variances are known to `free` degrees."""
    if np.isinf(free):
        return shadow_chance(ratio, angle)
    shares = special.chdtri(free, 1.0 - _FACTORS) / free
    lengths = ratio * np.sqrt(shares)
    return np.asarray(shadow_chance(lengths, np.broadcast_to(angle, lengths.shape)).mean())


def _most_likely(
    points: FleetPoints,
    line: OwnLine,
    worst: OwnTest,
    tests: tuple[OwnTest, ...],
    fit: PooledFit,
    odd: frozenset[int],
) -> list[OwnTest]:
    """Return what explains a disagreement, the likeliest first, and what does nearly as well."""
    rivals = [
        test
        for test in tests
        if test.aircraft == worst.aircraft and test.is_sortie == worst.is_sortie
    ]
    residual, precision = _likelihood_view(points, line, worst.aircraft, fit, odd)
    score = np.array([_gain(line, test, residual, precision) for test in rivals])
    ranked = np.argsort(-score, kind="stable")
    best = score[ranked[0]]
    return [rivals[i] for i in ranked if score[i] > best - np.log(NEARLY_AS_WELL)]


def _likelihood_view(
    points: FleetPoints, line: OwnLine, aircraft: int, fit: PooledFit, odd: frozenset[int]
) -> tuple[Array, Array]:
    """Return V^-1 r and V^-1 of an aircraft, V with the spread between aircraft and the curve."""
    averaged = fit.averaged
    group = int(points.group_of[aircraft])
    beta = averaged.mean_beta()[group]
    x = np.column_stack([line.z, line.bend])[:, : len(beta)]
    spread = averaged.mean_spread()
    z = line.z[:, : len(spread)]
    variance = averaged.phi * np.linalg.inv(line.precision)
    variance += z @ spread @ z.T
    variance += x @ np.einsum("n,nij->ij", averaged.weight, averaged.covariance[:, group]) @ x.T
    if aircraft in odd:  # as good as free
        scale = 1e4 * float(np.trace(variance))
        variance += scale * line.z @ line.z.T
    precision = np.linalg.inv(variance)
    return precision @ (line.y - x @ beta), precision


def _gain(line: OwnLine, test: OwnTest, residual: Array, precision: Array) -> float:
    """Return the log likelihood gained when the points of a test are believed no more."""
    mine = np.isin(line.rows, test.points)
    block = precision[np.ix_(mine, mine)]
    pull = residual[mine]
    gain = pull @ np.linalg.solve(block, pull) - np.linalg.slogdet(block)[1]
    return float(gain) / 2.0
