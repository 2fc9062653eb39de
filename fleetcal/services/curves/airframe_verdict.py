"""The verdict on one airframe, in the unit of what is judged and in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.standing import FEWEST_FOR_VERDICT, Standing
from fleetcal.services.curves.groups import TypePoints
from fleetcal.services.curves.own_instruments import instruments_u95_kt, unchecked
from fleetcal.services.curves.quantity import POSITION_ERROR, Quantity
from fleetcal.services.curves.speed_grid import ias_at_weight, lift_at, round_speeds
from fleetcal.services.curves.standing_words import indicator_words, reason_words
from fleetcal.store import PointRow
from fleetcal.wording import counted

#: A departure below this everywhere is not called outside, however sure, kt.
SMALLEST_DEPARTURE_KT: Final = POSITION_ERROR.smallest
#: Chance of any false flag that is accepted over all airframes judged together.
FAMILY_LEVEL: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class DepartureRow:
    """Departure from the group at one airspeed, positive where it reads slower.

    The departure is of the correction CAS - IAS, in knots, with the 95 % band
    of its measurement. Of another quantity it is in the unit of that, and
    whoever tells it gives the fields their name.
    """

    airframe: str
    group: str
    ias_kt: float
    departure_kt: float
    low_kt: float
    high_kt: float


@dataclass(frozen=True, kw_only=True)
class AirframeVerdict:
    """One airframe against the others of its group.

    Attributes:
        verdict: ``inside``, ``outside``, ``cannot be told`` (with too few others, or far off but
            not surely so once all that were judged are allowed for), or ``set aside`` if none of
            its points counts.
        reason: In words.
        largest_departure_kt, at_ias_kt: Where it departs most, within the speeds it flew.
        p_value, adjusted_p_value: For this airframe alone, and for having looked at all of them.
        others: Airframes it was compared with.
        set_aside: Whether the others were judged without it.
        rows: As its indicator reads.
        port_alone_u95_kt: Of the departure of its port where it departs most: the band of the
            measurement and the instruments together.
        instruments_u95_kt: What errors of its own instruments, the same in all sorties, may add
            where it departs most; the band of the measurement leaves them out.
        if_counted: Of one set aside, the verdict if its points counted, to which all figures
            belong.
    """

    airframe: str
    group: str
    verdict: str
    outside: bool
    reason: str
    largest_departure_kt: float | None
    at_ias_kt: float | None
    p_value: float | None
    adjusted_p_value: float | None
    others: int
    points: int
    set_aside: bool
    rows: tuple[DepartureRow, ...]
    port_alone_u95_kt: float | None = None
    instruments_u95_kt: float | None = None
    indicator_never_on_bench: bool = False
    if_counted: str = ""

    @property
    def half_band_kt(self) -> float:
        """Largest half width of the departure's band; there must be a departure."""
        return max((row.high_kt - row.low_kt) / 2.0 for row in self.rows)


def member_rows(known: TypePoints, number: int) -> list[PointRow]:
    """Return the points of one airframe in one group.

    Args:
        number: Of the member.
    """
    return [known.rows[i] for i in np.flatnonzero(known.points.aircraft == number)]


def tell_verdicts(known: TypePoints, verdicts: Verdicts) -> list[AirframeVerdict]:
    """Tell every verdict in knots and in words.

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
    flown: Sequence[PointRow],
) -> tuple[DepartureRow, ...]:
    """Tell a departure in knots over the speeds flown.

    Args:
        number: Of the member.
        standing: Of the member, with a departure.
        flown: Points that the standing rests on.

    Returns:
        At round airspeeds, at reference weight.
    """
    member, weight = known.members[number], known.type.reference_weight_kg
    ias = [ias_at_weight(row, weight) for row in flown]
    speeds = round_speeds(min(ias), max(ias))
    lift = lift_at(known.type, speeds, weight)
    departure, half = _departure_kappa(standing, lift)
    group = int(known.points.group_of[number])
    centre = curve_basis(lift, verdicts.fit.order) @ verdicts.fit.beta[group]
    base = known.quantity.convert(speeds, centre)

    def in_unit(value: Array) -> Array:
        return known.quantity.convert(speeds, centre + value) - base

    told = (in_unit(departure), in_unit(departure - half), in_unit(departure + half))
    return tuple(
        DepartureRow(
            airframe=member.airframe,
            group=str(member.group),
            ias_kt=float(v),
            departure_kt=float(d),
            low_kt=float(lo),
            high_kt=float(hi),
        )
        for v, d, lo, hi in zip(speeds, *told, strict=True)
    )


def largest_row(rows: Sequence[DepartureRow]) -> DepartureRow:
    """Return the row with the largest departure."""
    return max(rows, key=lambda row: abs(row.departure_kt))


def verdict_word(
    rows: Sequence[DepartureRow],
    p_value: float,
    adjusted: float,
    quantity: Quantity = POSITION_ERROR,
) -> str:
    """Return the verdict that a departure and its chances give.

    Args:
        p_value, adjusted: For the airframe alone, and for all that were judged.
        quantity: Of the departure.

    Returns:
        ``inside``, ``outside`` or ``cannot be told``.
    """
    large = abs(largest_row(rows).departure_kt) >= quantity.smallest
    if large and adjusted < FAMILY_LEVEL:
        return "outside"
    return "cannot be told" if large and p_value < FAMILY_LEVEL else "inside"


def _tell(known: TypePoints, verdicts: Verdicts, number: int) -> AirframeVerdict:
    member, standing = known.members[number], verdicts.standings[number]
    adjusted = float(verdicts.adjusted[number])
    flown = member_rows(known, number)
    if not np.isfinite(adjusted):
        return _no_verdict(member.airframe, str(member.group), standing.others, len(flown))
    rows = departure_rows(known, verdicts, number, standing, flown)
    worst = largest_row(rows)
    verdict = verdict_word(rows, standing.p_value, adjusted, known.quantity)
    ends = [(row.ias_kt, row.departure_kt) for row in (rows[0], rows[-1])[: len(rows)]]
    outside = verdict == "outside"
    reason = reason_words(
        ends,
        standing.others,
        standing.p_value,
        adjusted=adjusted,
        outside=outside,
        quantity=known.quantity,
    )
    own_kt = instruments_u95_kt(known, number, len(standing.departure), worst.ias_kt)
    never = unchecked(known, number)
    if never and verdict != "inside":
        reason += indicator_words(own_kt, worst.ias_kt)
    return AirframeVerdict(
        airframe=member.airframe,
        group=str(member.group),
        verdict=verdict,
        outside=outside,
        reason=reason,
        largest_departure_kt=worst.departure_kt,
        at_ias_kt=worst.ias_kt,
        p_value=standing.p_value,
        adjusted_p_value=adjusted,
        others=standing.others,
        points=len(flown),
        set_aside=number in verdicts.suspects,
        rows=rows,
        port_alone_u95_kt=float(np.hypot((worst.high_kt - worst.low_kt) / 2.0, own_kt)),
        instruments_u95_kt=own_kt or None,
        indicator_never_on_bench=never,
    )


def _no_verdict(airframe: str, group: str, others: int, points: int) -> AirframeVerdict:
    needed = FEWEST_FOR_VERDICT - 1
    reason = (
        f"only {counted(others, 'other airframe')} in the group; a verdict needs {needed}"
        if others < needed
        else "the group's curve hangs on this airframe alone"
    )
    return AirframeVerdict(
        airframe=airframe,
        group=group,
        verdict="cannot be told",
        outside=False,
        reason=reason,
        largest_departure_kt=None,
        at_ias_kt=None,
        p_value=None,
        adjusted_p_value=None,
        others=others,
        points=points,
        set_aside=False,
        rows=(),
    )


def _departure_kappa(standing: Standing, lift: Array) -> tuple[Array, Array]:
    z = curve_basis(lift, len(standing.departure) - 1)
    variance = np.einsum("ni,ij,nj->n", z, standing.covariance, z)
    return z @ standing.departure, stats.norm.ppf(0.975) * np.sqrt(variance)
