"""Compare two groups: static source against static source, pairing against pairing."""

from __future__ import annotations

from dataclasses import replace

from fleetcal.errors import DataError, FitError
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.services.curves.compare_curves import (
    Comparison,
    compared,
    difference_rows,
    side_of,
    speeds_of_both,
)
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import named_group, sort_points
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.pool_members import checked_choice, pool_of
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.standing_words import PRIOR_WORDS
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import Store


def contrast_groups(store: Store, first: str, second: str, request: PoolRequest) -> Comparison:
    """Compare the pooled curves of two groups.

    Args:
        first, second: Names of groups, both with or both without their pairing.

    Returns:
        Second less first; who was left out or kept in although outside is named.

    Raises:
        UnknownNameError: If a group is not in the store.
        DataError: If the names are of different kinds, or name one group.
        FitError: If a group has fewer than three airframes, or they share no speed.
    """
    read = request.quantity.read(store, request)
    one, other = (named_group(read, name) for name in (first, second))
    _require_different(one, other)
    known = sort_points(read, (one, other))
    choice = checked_choice(store, request.choice, known)
    pool = pool_of(known, judge_known(known)[1], choice, (one, other))
    found = _contrast(pool.known, one, other)
    kept = (*pool.kept_in(one), *pool.kept_in(other))
    without = (*pool.left_out_of(one), *pool.left_out_of(other))
    return replace(found, without=without, doubts=(*kept, *found.doubts))


def _contrast(known: TypePoints, one: GroupName, other: GroupName) -> Comparison:
    # the highest order flown, not the chosen one: a bend chosen for its size would look different
    fit, checks = fit_checked(known.points, known.order_of(known.points))
    numbers = [known.groups.index(group) for group in (one, other)]
    sides = [known.rows_of(number) for number in numbers]
    speeds = speeds_of_both(known, sides[0], sides[1])
    if not len(speeds):
        raise FitError(f"{one} and {other} were flown at no common speed", "fly one at the other's")
    found = contrast(fit, numbers[0], numbers[1])
    return compared(
        known,
        question=f"{other} minus {one}",
        what="a difference between the groups",
        sides=(side_of(str(one), sides[0]), side_of(str(other), sides[1])),
        rows=difference_rows(known, fit.beta[numbers[0]], found, speeds),
        found=found,
        model=(
            f"{known.quantity.y_words} of order {fit.order} in {known.quantity.x_words} for each "
            "group, the highest order that the speeds flown carry, with the spread between "
            f"aircraft of the whole type, {PRIOR_WORDS}; an airframe in both groups counts in each"
        ),
        doubts=tuple(
            f"{group}: {doubt}"
            for group, number in zip((one, other), numbers, strict=True)
            for doubt in doubts_of(known, number, checks[number], fit)
        ),
    )


def _require_different(one: GroupName, other: GroupName) -> None:
    if one == other:
        raise DataError(f"{one} cannot be compared with itself", "name two different groups")
    if (one.engine is None) != (other.engine is None):
        raise DataError(
            f"{one} cannot be compared with {other}",
            "name two different groups, both with or both without engine and propeller",
        )
