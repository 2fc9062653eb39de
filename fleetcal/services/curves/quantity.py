"""The contract of a pooled quantity: what is pooled, and how it is told.

A position error, a climb, a glide and cruise are pooled, judged and compared by
the same code. A quantity has a module of its own that makes one `Quantity`: how
its points are read from the store, what x and y are, how x goes with airspeed and y
with the number that is shown, its unit, its words and what it supposes.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import HIGHEST_ORDER
from fleetcal.fleet.enough_points import supported_order
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.usual_spread import UsualSpread
from fleetcal.services.field_names import PERFORMANCE_ONLY, POSITION_ERROR_ONLY
from fleetcal.wording import decimal, with_sign

if TYPE_CHECKING:
    from fleetcal.services.curves.pooled_point import PooledPoint
    from fleetcal.store import FleetDescription, Store, TypeDescription

#: A curve: y at x, both of shape (n,).
Curve = Callable[[Array], Array]


class Scale(ABC):
    """How x goes with airspeed and y with the number that is shown, at reference weight."""

    def __init__(self, scaling_speed_kt: float) -> None:
        self.scaling_speed_kt = scaling_speed_kt

    def x_at(self, speed_kt: Array) -> Array:
        """Return x at airspeeds, any shape."""
        return np.asarray((self.scaling_speed_kt / speed_kt) ** 2)

    def speed_at(self, x: Array) -> Array:
        """Return the airspeeds that have x, kt, same shape."""
        return np.asarray(self.scaling_speed_kt / np.sqrt(x))

    @abstractmethod
    def shown(self, speed_kt: Array, y: Array, about: Curve) -> Array:
        """Return the number that is shown, in the unit of the quantity.

        Args:
            speed_kt, y: Broadcastable.
            about: A curve near y, for a quantity whose number hangs on it.
        """

    def small(self, speed_kt: Array, step: Array, about: Curve) -> Array:
        """Return what a small step of y is in the number that is shown."""
        nothing = np.zeros(np.shape(step))
        return self.shown(speed_kt, step, about) - self.shown(speed_kt, nothing, about)


@dataclass(frozen=True, kw_only=True)
class PoolRequest:
    """Which points of which quantity are asked for.

    Attributes:
        type: The only one when None.
        power_state: Of climbs and glides; the only one when None.
        usual_spread_kt: How much sound airframes differ at 100 kt, if somebody knows; of position
            errors.
        airframe: Whose own curve of its port turns IAS into CAS, of climbs and glides; the port's
            pooled curve does when None.
        choice: Who is kept in the pool, or taken out of it.
    """

    quantity: Quantity
    type: str | None = None
    flap_setting: str = "up"
    power_state: str | None = None
    usual_spread_kt: float | None = None
    airframe: str | None = None
    choice: MemberChoice = field(default_factory=MemberChoice)


@dataclass(frozen=True, kw_only=True)
class Circumstances:
    """What the points of a quantity were flown in, as far as it asks for that.

    Attributes:
        what, how: What was flown and in what state, such as ``glides`` and `` with idle``.
        power_state: Empty for a quantity without one.
        altitude_ft: Pressure altitude in standard air that the numbers are for.
        left_out: Measurements that no group has, in words.
        notes: On how the numbers came about.
    """

    what: str
    how: str = ""
    power_state: str = ""
    altitude_ft: float | None = None
    left_out: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PoolBasis:
    """What is pooled: a quantity of one type at one flap setting.

    Attributes:
        usual: What is supposed of the spread between airframes when one is judged.
    """

    quantity: Quantity
    scale: Scale
    flown: Circumstances
    type: TypeDescription
    flap_setting: str
    usual: UsualSpread | None = None

    @property
    def weight_kg(self) -> float:
        """Reference weight of the type, which airspeeds are told for."""
        return self.type.reference_weight_kg

    def speeds_of(self, rows: Sequence[PooledPoint]) -> list[float]:
        """Return the airspeeds of points at reference weight, kt."""
        return [row.speed_at(self.weight_kg) for row in rows]

    def order_of(self, points: FleetPoints) -> int:
        """Return the highest order of a curve that points carry and the quantity may have."""
        return min(supported_order(points), self.quantity.highest_order)

    def fixed_order(self, points: FleetPoints) -> int | None:
        """Return the order that the quantity asks for, None if the points may choose it."""
        return None if self.quantity.highest_order == HIGHEST_ORDER else self.order_of(points)


@dataclass(frozen=True, kw_only=True)
class ReadPoints(PoolBasis):
    """All points of a quantity for one type and flap setting.

    Attributes:
        points: Accepted, and nothing bars them.
        barred: Accepted, and kept out by a failed leak check.
        rejected: By somebody.
    """

    description: FleetDescription
    points: Sequence[PooledPoint]
    barred: Sequence[PooledPoint] = ()
    rejected: Sequence[PooledPoint] = ()


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A pooled quantity.

    Attributes:
        key: By which it is asked for.
        name: In which a difference shows, such as ``the glide``.
        unit: Of the number that is shown.
        decimals: Of that number.
        smallest: A departure below this everywhere is not called outside, however sure.
        higher, lower: Words for a departure, about its size and the group, such as ``reads {size}
            slower than the group``.
        y_words, x_words: What y and x are, for the words on the model.
        speed: IAS, CAS or TAS.
        departs_in: What departs, such as ``correction``.
        heading: Of the axis of a figure.
        one, many: A measurement, and several.
        needs: What else a group needs to be fitted, for a hint.
        reject: Command that rejects measurements.
        by_port: Whether the static source belongs to the group; if not, the group is the pairing.
        highest_order: Of a curve in x.
        assumptions: What its numbers suppose.
        record: Record of the store that is measured; its number is printed as this and ``_id``.
        counted: Word for measurements in the names of printed fields.
        read: Reads its points.
    """

    key: str
    name: str
    unit: str
    decimals: int
    smallest: float
    higher: str
    lower: str
    the_same: str
    y_words: str
    x_words: str
    speed: str
    departs_in: str
    heading: str
    one: str
    many: str
    needs: str
    reject: str
    by_port: bool
    highest_order: int
    assumptions: tuple[str, ...]
    record: str
    counted: str
    read: Callable[[Store, PoolRequest], ReadPoints]

    @property
    def group_word(self) -> str:
        """What a group is called: group, or pairing."""
        return "group" if self.by_port else "pairing"

    @property
    def does(self) -> str:
        """What an aircraft does that is measured: reads, climbs, sinks or flies."""
        return self.the_same.split()[0]

    @property
    def words(self) -> Mapping[str, str]:
        """What completes the names of printed fields, see `fleetcal.services.field_names`."""
        return {
            "unit": self.unit.replace("/", ""),
            "speed": self.speed.lower(),
            "group": self.group_word,
            "many": self.counted,
            "number": f"{self.record}_id",
            "numbers": f"{self.record}_ids",
            "only": POSITION_ERROR_ONLY if self.by_port else PERFORMANCE_ONLY,
        }

    def size(self, value: float) -> str:
        """Return a value with its unit, without a sign."""
        return f"{decimal(abs(value), self.decimals)} {self.unit}"

    def signed(self, value: float) -> str:
        """Return a value with its unit and its sign."""
        return f"{with_sign(value, self.decimals)} {self.unit}"

    def band(self, low: float, high: float) -> str:
        """Return a band in words, without the unit."""
        return f"{with_sign(low, self.decimals)} to {with_sign(high, self.decimals)}"

    def departs(self, value: float) -> str:
        """Return a departure from the group in words."""
        if abs(value) < 0.5 * 10.0**-self.decimals:
            return self.the_same
        return (self.higher if value > 0.0 else self.lower).format(size=self.size(value))
