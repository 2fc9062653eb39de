"""Groups whose airframes fall into two clusters, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from fleetcal.fleet.basis import MIDDLE_X
from fleetcal.fleet.clusters import Clusters, two_clusters
from fleetcal.fleet.sums import AircraftSums
from fleetcal.services.curves.group_name import Member
from fleetcal.services.curves.quantity import PoolBasis
from fleetcal.services.field_names import printed
from fleetcal.wording import percent

#: Most airframes that are named.
_MOST_NAMED: Final = 8


@dataclass(frozen=True, kw_only=True)
class LooksLikeTwo:
    """A group that looks like two, in words."""

    group: str = field(metadata=printed("{group}"))
    said: str


def groups_like_two(
    basis: PoolBasis, sums: AircraftSums, members: Sequence[Member]
) -> tuple[LooksLikeTwo, ...]:
    """Return the groups that look like two.

    Args:
        sums: Of the order of the curves.
        members: One for each aircraft of `sums`.
    """
    return tuple(
        LooksLikeTwo(group=str(members[one.low[0]].group), said=cluster_words(basis, one, members))
        for one in two_clusters(sums)
    )


def cluster_words(basis: PoolBasis, found: Clusters, members: Sequence[Member]) -> str:
    """Say which airframes of a group lie apart from the others.

    Args:
        members: One for each aircraft of the fit.
    """
    fewer, rest = sorted((found.low, found.high), key=len)
    tags = sorted(members[i].airframe for i in fewer)
    names = ", ".join(tags[:_MOST_NAMED]) + (" and more" if len(tags) > _MOST_NAMED else "")
    speed = basis.scale.speed_at(np.array(MIDDLE_X))
    apart = basis.scale.small(speed, np.array(found.apart), np.zeros_like)
    return (
        f"{members[found.low[0]].group} looks like two {basis.quantity.group_word}s: {names} lie "
        f"{basis.quantity.size(float(apart))} at {float(speed):.0f} kt from the other {len(rest)} "
        f"(one {basis.quantity.group_word} splits so in {percent(found.p_value)} of cases); look "
        "for a change that nobody noted"
    )
