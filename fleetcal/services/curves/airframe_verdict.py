"""The verdict on one airframe, in the unit of the quantity and in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy import special

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.standing import FEWEST_FOR_VERDICT, Standing
from fleetcal.services.curves.own_instruments import instruments_u95, unchecked
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.curves.speed_grid import round_speeds
from fleetcal.services.curves.standing_words import indicator_words, reason_words
from fleetcal.services.curves.type_points import TypePoints, curve_of
from fleetcal.services.field_names import POSITION_ERROR_ONLY, printed
from fleetcal.wording import counted

#: Chance of any false flag that is accepted over all airframes judged together.
FAMILY_LEVEL: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class DepartureRow:
    """Departure from the group at one airspeed, with the 95 % band of its measurement."""

    airframe: str
    group: str = field(metadata=printed("{group}"))
    speed_kt: float = field(metadata=printed("{speed}_kt"))
    departure: float = field(metadata=printed("departure_{unit}"))
    low: float = field(metadata=printed("low_{unit}"))
    high: float = field(metadata=printed("high_{unit}"))


@dataclass(frozen=True, kw_only=True)
class AirframeVerdict:
    """One airframe against the others of its group.

    Attributes:
        verdict: ``inside``, ``outside``, ``undecided`` (with too few others, or far off but
            not surely so once all that were judged are allowed for), or ``set aside`` if none of
            its points counts.
        reason: In words.
        largest_departure, at_speed_kt: Where it departs most, within the speeds it flew.
        p_value, adjusted_p_value: For this airframe alone, and for having looked at all of them.
        others: Airframes it was compared with.
        set_aside: Whether the others were judged without it.
        rows: As its indicator reads.
        port_alone_u95: Of the departure of its port where it departs most: the band of the
            measurement and the instruments together.
        instruments_u95: What errors of its own instruments, the same in all sorties, may add
            where it departs most; the band of the measurement leaves them out.
        if_counted: Of one set aside, the verdict if its points counted, to which all figures
            belong.
        why_aside: Of one set aside, why its points do not count.
    """

    airframe: str
    group: str = field(metadata=printed("{group}"))
    verdict: str
    outside: bool
    reason: str
    largest_departure: float | None = field(metadata=printed("largest_departure_{unit}"))
    at_speed_kt: float | None = field(metadata=printed("at_{speed}_kt"))
    p_value: float | None
    adjusted_p_value: float | None
    others: int
    points: int = field(metadata=printed("{many}"))
    set_aside: bool
    rows: tuple[DepartureRow, ...]
    port_alone_u95: float | None = field(
        default=None, metadata=printed("port_alone_u95_{unit}", only=POSITION_ERROR_ONLY)
    )
    instruments_u95: float | None = field(
        default=None, metadata=printed("instruments_u95_{unit}", only=POSITION_ERROR_ONLY)
    )
    indicator_never_on_bench: bool = field(
        default=False, metadata=printed(only=POSITION_ERROR_ONLY)
    )
    if_counted: str = field(default="", metadata=printed(only=POSITION_ERROR_ONLY))
    why_aside: str = field(default="", metadata=printed(only=POSITION_ERROR_ONLY))

    @property
    def half_band(self) -> float:
        """Largest half width of the departure's band; there must be a departure."""
        return max((row.high - row.low) / 2.0 for row in self.rows)


def tell_verdicts(known: TypePoints, verdicts: Verdicts) -> list[AirframeVerdict]:
    """Tell every verdict in numbers and in words.

    Args:
        verdicts: Of `known.points`.

    Returns:
        In the order of `known.members`.
    """
    return [_tell(known, verdicts, number) for number in range(len(known.members))]


def departure_rows(
    known: TypePoints,
    verdicts: Verdicts,
    number: int,
    standing: Standing,
    flown: Sequence[PooledPoint],
) -> tuple[DepartureRow, ...]:
    """Tell a departure over the speeds flown.

    Args:
        number: Of the member.
        standing: Of the member, with a departure.
        flown: Points that the standing rests on.

    Returns:
        At round airspeeds, at reference weight, where the number that is shown exists.
    """
    member, scale = known.members[number], known.scale
    flown_kt = known.speeds_of(flown)
    speeds = round_speeds(min(flown_kt), max(flown_kt))
    x = scale.x_at(speeds)
    departure, half = _departure(standing, x)
    about = curve_of(verdicts.fit.beta[int(known.points.group_of[number])])
    centre = about(x)
    base = scale.shown(speeds, centre, about)

    def in_unit(value: Array) -> Array:
        return scale.shown(speeds, centre + value, about) - base

    numbers = zip(
        speeds,
        *(in_unit(value) for value in (departure, departure - half, departure + half)),
        strict=True,
    )
    return tuple(
        DepartureRow(
            airframe=member.airframe,
            group=str(member.group),
            speed_kt=float(speed),
            departure=float(middle),
            low=float(min(one, other)),
            high=float(max(one, other)),
        )
        for speed, middle, one, other in numbers
        if np.isfinite(middle + one + other)
    )


def largest_row(rows: Sequence[DepartureRow]) -> DepartureRow:
    """Return the row with the largest departure."""
    return max(rows, key=lambda row: abs(row.departure))


def verdict_word(
    rows: Sequence[DepartureRow], p_value: float, adjusted: float, quantity: Quantity
) -> str:
    """Return the verdict that a departure and its chances give.

    Args:
        p_value, adjusted: For the airframe alone, and for all that were judged.

    Returns:
        ``inside``, ``outside`` or ``undecided``.
    """
    large = abs(largest_row(rows).departure) >= quantity.smallest
    if large and adjusted < FAMILY_LEVEL:
        return "outside"
    return "undecided" if large and p_value < FAMILY_LEVEL else "inside"


def _tell(known: TypePoints, verdicts: Verdicts, number: int) -> AirframeVerdict:
    member, standing = known.members[number], verdicts.standings[number]
    adjusted = float(verdicts.adjusted[number])
    flown = known.rows_of_member(number)
    rows: tuple[DepartureRow, ...] = ()
    if np.isfinite(adjusted):
        rows = departure_rows(known, verdicts, number, standing, flown)
    if not rows:
        return _no_verdict(known, number, standing.others, len(flown))
    worst = largest_row(rows)
    verdict = verdict_word(rows, standing.p_value, adjusted, known.quantity)
    outside = verdict == "outside"
    reason = reason_words(
        [(row.speed_kt, row.departure) for row in (rows[0], rows[-1])],
        standing.others,
        standing.p_value,
        adjusted=adjusted,
        outside=outside,
        quantity=known.quantity,
    )
    about = curve_of(verdicts.fit.beta[int(known.points.group_of[number])])
    own = instruments_u95(known, number, len(standing.departure), worst.speed_kt, about)
    never = unchecked(known, number)
    if never and verdict != "inside":
        reason += indicator_words(known.quantity, own, worst.speed_kt)
    return AirframeVerdict(
        airframe=member.airframe,
        group=str(member.group),
        verdict=verdict,
        outside=outside,
        reason=reason,
        largest_departure=worst.departure,
        at_speed_kt=worst.speed_kt,
        p_value=standing.p_value,
        adjusted_p_value=adjusted,
        others=standing.others,
        points=len(flown),
        set_aside=number in verdicts.suspects,
        rows=rows,
        port_alone_u95=float(np.hypot((worst.high - worst.low) / 2.0, own)),
        instruments_u95=own or None,
        indicator_never_on_bench=never,
    )


def _no_verdict(known: TypePoints, number: int, others: int, points: int) -> AirframeVerdict:
    needed = FEWEST_FOR_VERDICT - 1
    reason = (
        f"only {counted(others, 'other airframe')} in the group; a verdict needs {needed}"
        if others < needed
        else "the group's curve depends on this airframe alone"
    )
    return AirframeVerdict(
        airframe=known.members[number].airframe,
        group=str(known.members[number].group),
        verdict="undecided",
        outside=False,
        reason=reason,
        largest_departure=None,
        at_speed_kt=None,
        p_value=None,
        adjusted_p_value=None,
        others=others,
        points=points,
        set_aside=False,
        rows=(),
    )


def _departure(standing: Standing, x: Array) -> tuple[Array, Array]:
    """Return a departure in y and the half width of its 95 % band."""
    z = curve_basis(x, len(standing.departure) - 1)
    variance = np.einsum("ni,ij,nj->n", z, standing.covariance, z)
    return z @ standing.departure, special.ndtri(0.975) * np.sqrt(variance)
