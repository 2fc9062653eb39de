"""A fitted group of position errors, and the request that it answers."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.fleet.model_checks import GroupCheck
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.pool_members import AirframeLeftOut, Pool
from fleetcal.services.curves.type_points import TypePoints


@dataclass(frozen=True, kw_only=True)
class CurveRequest:
    """What curve is asked for.

    Attributes:
        group: ``static source`` or ``static source / engine / propeller``.
        weight_kg: The type's reference weight when None.
        order: Chosen by leave-one-aircraft-out error when None.
        with_airframes: Tags that stay in the pool even if they stand outside.
        without_airframes: Tags that are taken out of the pool.
    """

    group: str
    type: str | None = None
    flap_setting: str = "up"
    weight_kg: float | None = None
    altitude_ft: float = 0.0
    step_kt: float = 5.0
    order: int | None = None
    with_airframes: tuple[str, ...] = ()
    without_airframes: tuple[str, ...] = ()

    @property
    def choice(self) -> MemberChoice:
        """Who is kept in the pool, or taken out of it."""
        return MemberChoice(self.with_airframes, self.without_airframes)


@dataclass(frozen=True, kw_only=True)
class FittedGroup:
    """A fitted group with what is needed to tell it at any speed, and who is in its pool."""

    request: CurveRequest
    known: TypePoints
    name: GroupName
    number: int
    fit: PooledFit
    weight_kg: float
    check: GroupCheck
    pool: Pool

    @property
    def without(self) -> tuple[AirframeLeftOut, ...]:
        """Airframes of the group that are not in the pool."""
        return self.pool.left_out_of(self.name)
