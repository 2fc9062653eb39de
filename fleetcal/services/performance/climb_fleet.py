"""Climbs and glides across the fleet: standing, outliers, change and contrast.

Everything is judged by the functions that judge the position error; here their
results only get the names and units of rates.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fleetcal.errors import DataError, FitError
from fleetcal.services.curves.check_change import Period, change_of_points
from fleetcal.services.curves.contrast_groups import contrast_of_pool
from fleetcal.services.curves.judge_airframes import (
    judge_known,
    judgement_of,
    of_one_airframe,
)
from fleetcal.services.curves.pool_members import checked_choice, pool_of
from fleetcal.services.performance.climb_groups import (
    ClimbRequest,
    find_pairing,
    flown_climbs,
    pairing_name,
    pairings_of,
)
from fleetcal.services.performance.climb_verdicts import (
    ClimbComparison,
    ClimbJudgement,
    compared_in_rates,
    judged_in_rates,
)
from fleetcal.store import Store, find_airframe


def judge_climbs(store: Store, request: ClimbRequest) -> ClimbJudgement:
    """Judge every airframe of a type against the others of its pairing.

    Args:
        request: With a pairing only that one is shown; all are fitted together.

    Raises:
        FleetcalError: As `flown_climbs` and `pairings_of`.
    """
    flown = flown_climbs(store, request)
    known = pairings_of(flown)
    wanted = None if request.pairing is None else find_pairing(known.groups, request.pairing)
    judged, _ = judgement_of(known, wanted, (*known.too_small, *flown.left_out))
    return judged_in_rates(judged, flown)


def climb_standing(
    store: Store, tag: str, request: ClimbRequest, figure: Path | None = None
) -> ClimbJudgement:
    """Judge one airframe in each pairing that it flew.

    Args:
        figure: Draw the standing into this file, .svg, .png or .pdf.

    Raises:
        FleetcalError: As `judge_climbs`.
        FitError: If it has no climbs or glides in a pairing that can be fitted.
    """
    flown = flown_climbs(store, _of_type(store, [tag], request))
    known = pairings_of(flown)
    with store.reading() as session:
        tag = find_airframe(session, tag).tag
    own = tuple(said for said in flown.left_out if f" of {tag}:" in said)
    if tag not in {member.airframe for member in known.members}:
        why = f" ({'; '.join(own)})" if own else ""
        raise FitError(
            f"{tag}: no accepted {flown.kind}s with {flown.power_state} in a pairing that can be "
            f"fitted{why}",
            "reduce a flight of it, or of others with the same engine and propeller",
        )
    whole, verdicts = judgement_of(known, None, own)
    return judged_in_rates(of_one_airframe(whole, known, verdicts, tag, figure), flown)


def climb_change(
    store: Store,
    tags: Sequence[str],
    request: ClimbRequest,
    periods: tuple[Period, Period] | None = None,
    between: tuple[str, str] | None = None,
) -> ClimbComparison:
    """Compare the climbs or glides of airframes before and after.

    Args:
        tags: As `check_change`.
        periods: The two last fits that were flown when left out.
        between: Pairings before and after, in the place of periods.

    Returns:
        After less before.

    Raises:
        FleetcalError: As `check_change`.
    """
    flown = flown_climbs(store, _of_type(store, tags, request))
    groups = None
    if between is not None:
        pairings = sorted({pairing_name(row) for row in flown.rows}, key=str)
        groups = (find_pairing(pairings, between[0]), find_pairing(pairings, between[1]))
        if groups[0] == groups[1]:
            raise DataError(
                f"{groups[0]} is named twice", "name the pairing before and the one after"
            )
    with store.reading() as session:
        names = sorted({find_airframe(session, tag).tag for tag in tags})
    found = change_of_points(
        flown.description,
        flown.type,
        names,
        rows=flown.rows,
        flap_setting=flown.flap_setting,
        periods=periods,
        groups=groups,
        quantity=flown.quantity,
    )
    return compared_in_rates(found, flown)


def contrast_climbs(
    store: Store, first: str, second: str, request: ClimbRequest
) -> ClimbComparison:
    """Compare the pooled climbs or glides of two pairings.

    Args:
        first, second: ``engine / propeller``.

    Returns:
        Second less first.

    Raises:
        FleetcalError: As `flown_climbs` and `pairings_of`.
        DataError: If one pairing is named twice.
    """
    flown = flown_climbs(store, request)
    known = pairings_of(flown)
    one, other = find_pairing(known.groups, first), find_pairing(known.groups, second)
    if one == other:
        raise DataError(f"{one} cannot be compared with itself", "name two different pairings")
    choice = checked_choice(store, request.choice, known)
    pool = pool_of(known, judge_known(known)[1], choice, (one, other))
    return compared_in_rates(contrast_of_pool(pool, one, other), flown)


def _of_type(store: Store, tags: Sequence[str], request: ClimbRequest) -> ClimbRequest:
    """Return the request with the type of the airframes named."""
    with store.reading() as session:
        types = sorted({find_airframe(session, tag).aircraft_type.name for tag in tags})
    if len(types) > 1:
        raise DataError(f"airframes of two types: {', '.join(types)}", "name airframes of one type")
    named = request.type or (types[0] if types else None)
    return ClimbRequest(
        kind=request.kind,
        pairing=request.pairing,
        power_state=request.power_state,
        type=named,
        flap_setting=request.flap_setting,
    )
