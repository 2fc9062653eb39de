"""Read, judge and pool the points of a quantity for one group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.errors import DataError
from fleetcal.fleet.outliers import Verdicts
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import gather_group
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.pool_members import Pool, checked_choice, pool_of
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import Store


@dataclass(frozen=True, kw_only=True)
class PoolOfGroup:
    """The pool of one group, with all who flew.

    Attributes:
        everybody: Before anybody was left out of the pool.
        verdicts, judged: On all of them, in numbers and in words.
        number: Of the group in the pool.
    """

    everybody: TypePoints
    verdicts: Verdicts
    judged: Sequence[AirframeVerdict]
    pool: Pool
    name: GroupName
    number: int


def pool_of_group(store: Store, request: PoolRequest, group: str | None) -> PoolOfGroup:
    """Return the pool of a group, airframes outside it left out unless the request keeps them.

    Args:
        group: The only one when None.

    Raises:
        UnknownNameError: If type, group or a chosen airframe are not in the store.
        DataError: If several groups could be meant.
        FitError: If fewer than three airframes have points.
    """
    known, name = gather_group(store, request, group)
    if name is None:
        if len(known.groups) > 1:
            several = "; ".join(map(str, known.groups))
            raise DataError(
                f"several {known.quantity.group_word}s were flown: {several}", "name one of them"
            )
        name = known.groups[0]
    verdicts, judged = judge_known(known)
    choice = checked_choice(store, request.choice, known)
    pool = pool_of(known, judged, choice, [name])
    return PoolOfGroup(
        everybody=known,
        verdicts=verdicts,
        judged=judged,
        pool=pool,
        name=name,
        number=pool.known.groups.index(name),
    )
