"""Compare two groups: port against port, pairing against pairing."""

from __future__ import annotations

from dataclasses import replace

from fleetcal.errors import DataError, FitError
from fleetcal.fleet.contrast import contrast
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.pooled import supported_order
from fleetcal.services.curves.compare_curves import (
    LEVEL,
    Comparison,
    difference_rows,
    side_of,
    speeds_of_both,
    verdict_words,
)
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.groups import (
    GroupName,
    TypePoints,
    find_group,
    find_type,
    gather_groups,
)
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.pool_members import MemberChoice, Pool, checked_choice, pool_of
from fleetcal.services.curves.standing_words import PRIOR_WORDS
from fleetcal.store import Store, load_description


def contrast_groups(
    store: Store,
    first: str,
    second: str,
    type_name: str | None = None,
    flap_setting: str = "up",
    choice: MemberChoice | None = None,
) -> Comparison:
    """Compare the pooled curves of two groups.

    Args:
        first, second: Names of groups, both with or both without their pairing.
        choice: Who is kept in the pool, or taken out of it.

    Returns:
        Second less first.

    Raises:
        UnknownNameError: If a group is not in the store.
        DataError: If the names are of different kinds, or name one group.
        FitError: If a group has fewer than three airframes, or they share no speed.
    """
    known, one, other = _two_groups(store, first, second, type_name, flap_setting)
    chosen = checked_choice(store, choice or MemberChoice(), known)
    pool = pool_of(known, judge_known(known)[1], chosen, (one, other))
    return contrast_of_pool(pool, one, other)


def contrast_of_pool(pool: Pool, one: GroupName, other: GroupName) -> Comparison:
    """Compare the curves of two groups, and say who was left out or kept in although outside.

    Args:
        one, other: Of the groups of the pool.

    Returns:
        `other` less `one`.

    Raises:
        FitError: If they share no speed.
    """
    found = contrast_of_points(pool.known, one, other)
    kept = (*pool.kept_in(one), *pool.kept_in(other))
    without = (*pool.left_out_of(one), *pool.left_out_of(other))
    return replace(found, without=without, doubts=(*kept, *found.doubts))


def contrast_of_points(known: TypePoints, one: GroupName, other: GroupName) -> Comparison:
    """Compare the pooled curves of two groups of points that were read before.

    Args:
        one, other: Of the groups of `known`.

    Returns:
        `other` less `one`.

    Raises:
        FitError: If they share no speed.
    """
    # the highest order flown, not the chosen one: a bend chosen for its size would look different
    fit, checks = fit_checked(known.points, supported_order(known.points))
    numbers = [known.groups.index(group) for group in (one, other)]
    rows = [known.rows_of(number) for number in numbers]
    speeds = speeds_of_both(known.type, rows[0], rows[1])
    if not len(speeds):
        raise FitError(f"{one} and {other} were flown at no common speed", "fly one at the other's")
    found = contrast(fit, numbers[0], numbers[1])
    told = difference_rows(
        known.type,
        fit.order,
        fit.beta[numbers[0]],
        found=found,
        speeds_kt=speeds,
        quantity=known.quantity,
    )
    return Comparison(
        question=f"{other} minus {one}",
        type=known.type.name,
        flap_setting=known.flap_setting,
        weight_kg=known.type.reference_weight_kg,
        first=side_of(str(one), rows[0]),
        second=side_of(str(other), rows[1]),
        rows=told,
        p_value=found.p_value,
        differ=found.p_value < LEVEL,
        verdict=verdict_words(
            told, found.p_value, "a difference between the groups", known.quantity
        ),
        model=f"{known.quantity.symbol} of order {fit.order} in {known.quantity.lift} for each "
        "group, the highest order that the speeds flown carry, with the spread between aircraft "
        f"of the whole type, {PRIOR_WORDS}; an airframe in both groups counts in each",
        doubts=tuple(
            f"{group}: {said}"
            for group, number in zip((one, other), numbers, strict=True)
            for said in doubts_of(known, number, checks[number], fit.phi)
        ),
    )


def _two_groups(
    store: Store, first: str, second: str, type_name: str | None, flap_setting: str
) -> tuple[TypePoints, GroupName, GroupName]:
    """Return the points of the type and the names of two groups that can be compared."""
    with store.reading() as session:
        description = load_description(session)
    kind = find_type(description, type_name)
    one, other = (find_group(description, kind, name) for name in (first, second))
    if (one.engine is None) != (other.engine is None) or one == other:
        raise DataError(
            f"{one} cannot be compared with {other}",
            "name two different groups, both with or both without engine and propeller",
        )
    known, _ = gather_groups(store, kind.name, flap_setting, (first, second))
    return known, one, other
