"""A fitted group of position errors, and the request that it answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from fleetcal.fleet.bands import Band
from fleetcal.fleet.model_checks import GroupCheck
from fleetcal.fleet.points import Array
from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.pool_members import AirframeLeftOut, Pool
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.type_points import TypePoints


@dataclass(frozen=True, kw_only=True)
class CurveRequest:
    """What curve is asked for.

    Attributes:
        group: ``static source``, ``static source / engine / propeller``, or the tag of an airframe.
        weight_kg: The type's reference weight when None.
        order: Chosen by leave-one-aircraft-out error when None.
        fewest: Airframes whose points must reach a speed for it to be told.
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
    fewest: int = 1

    @property
    def choice(self) -> MemberChoice:
        """Who is kept in the pool, or taken out of it."""
        return MemberChoice(self.with_airframes, self.without_airframes)


class CurveFit(Protocol):
    """The curve of a group, or an airframe's own, with its bands in y."""

    @property
    def order(self) -> int:
        """Of the polynomial."""

    def centre(self, group: int, x: Array) -> Array:
        """Return the curve at x, shape (n,)."""

    def mean_band(self, group: int, x: Array, level: float = 0.95) -> Band:
        """Return where the group's mean lies; of one airframe, where its own curve does."""

    def next_band(self, group: int, x: Array, level: float = 0.95) -> Band:
        """Return where another aircraft of the group lies; of one airframe, the same as above."""


@dataclass(frozen=True, kw_only=True)
class AirframeOf:
    """One airframe whose own curve was fitted.

    Attributes:
        group: That it was joined with; None where there are no others.
        others: Airframes of the group.
        outside: Whether it stands outside the group, which then says nothing of it.
    """

    tag: str
    group: GroupName | None = None
    others: int = 0
    outside: bool = False


@dataclass(frozen=True, kw_only=True)
class FittedGroup:
    """A fitted group with what is needed to tell it at any speed, and who is in its pool.

    Attributes:
        check: None where too few airframes flew for the model to be checked.
        airframe: Whose own curve it is; None for a group.
        support: Points that an airframe's own curve rests on, its group's in them.
        group: That an airframe's own curve was joined with.
    """

    request: CurveRequest
    known: TypePoints
    name: GroupName
    number: int
    fit: CurveFit
    weight_kg: float
    check: GroupCheck | None
    pool: Pool
    airframe: AirframeOf | None = None
    support: tuple[PooledPoint, ...] = ()
    group: FittedGroup | None = None

    @cached_property
    def rows(self) -> Sequence[PooledPoint]:
        """Points that the curve rests on."""
        return self.support or self.known.rows_of(self.number)

    @property
    def called(self) -> str:
        """The tag of the airframe, or the name of the group."""
        return str(self.name) if self.airframe is None else self.airframe.tag

    @property
    def pooled(self) -> PooledFit:
        """The fit of the groups of a type; there is none of one airframe's own curve."""
        assert isinstance(self.fit, PooledFit)
        return self.fit

    def bands(self, lift: Array) -> tuple[Band, Band]:
        """Return where the mean and another aircraft lie; of one airframe twice its one band.

        Args:
            lift: Where, shape (n,).
        """
        mean = self.mean_band(lift)
        return mean, mean if self.airframe is not None else self.next_band(lift)

    def mean_band(self, lift: Array) -> Band:
        """Return where the mean lies, shape (n,); of one airframe its band."""
        return self.fit.mean_band(self.number, lift)

    def next_band(self, lift: Array) -> Band:
        """Return where another aircraft lies, shape (n,); of one airframe its band."""
        return self.fit.next_band(self.number, lift)

    @property
    def without(self) -> tuple[AirframeLeftOut, ...]:
        """Airframes of the group that are not in the pool."""
        return self.pool.left_out_of(self.name)
