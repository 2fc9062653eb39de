"""Which points weigh most in a standing, and what would settle it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.judged_instead import judge_instead, measured_again
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.own_lines import own_line
from fleetcal.fleet.standing import FEWEST_FOR_VERDICT
from fleetcal.services.curves.airframe_verdict import (
    FAMILY_LEVEL,
    AirframeVerdict,
)
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.field_names import printed
from fleetcal.wording import counted

_HEAVIEST: Final = 3
#: Further sorties, and further airframes, that are tried.
_SORTIES: Final = (1, 2, 3, 4, 6, 8, 12)
_AIRFRAMES: Final = (1, 2, 3, 4, 6, 8, 12, 20)
#: Every measurement so often is as good as measured without error.
_WITHOUT_ERROR: Final = 1e6


@dataclass(frozen=True, kw_only=True)
class HeavyPoint:
    """A point with its share, in percent, of the departure at the worst speed."""

    number: int = field(metadata=printed("{number}"))
    flown_on: date
    speed_kt: float = field(metadata=printed("{speed}_kt"))
    share_percent: float


@dataclass(frozen=True, kw_only=True)
class StandingDetail:
    """What a standing rests on.

    Attributes:
        sorties: Of the airframe, in the group.
        heaviest: Empty where there is no verdict.
        settles: What would settle the verdict; empty where it is settled.
    """

    airframe: str
    group: str = field(metadata=printed("{group}"))
    sorties: int
    heaviest: tuple[HeavyPoint, ...]
    settles: str


def standing_detail(
    known: TypePoints, verdicts: Verdicts, number: int, verdict: AirframeVerdict
) -> StandingDetail:
    """Tell what a standing rests on.

    Args:
        number: Of the member.
        verdict: On the member.
    """
    own = np.flatnonzero(known.points.aircraft == number)
    sorties = len(np.unique(known.points.sortie[own]))
    heaviest = _heaviest(known, verdicts, number, verdict.at_speed_kt)
    settles = _settles(known.quantity, verdicts, number, verdict, sorties)
    return StandingDetail(
        airframe=verdict.airframe,
        group=verdict.group,
        sorties=sorties,
        heaviest=heaviest,
        settles=settles,
    )


def _heaviest(
    known: TypePoints, verdicts: Verdicts, number: int, at_speed_kt: float | None
) -> tuple[HeavyPoint, ...]:
    if at_speed_kt is None:
        return ()
    line = own_line(known.points, np.flatnonzero(known.points.aircraft == number))
    size = len(verdicts.standings[number].departure)
    z = line.z[:, :size]
    at = curve_basis(known.scale.x_at(np.array([at_speed_kt])), size - 1)[0]
    pull = np.abs(at @ np.linalg.solve(z.T @ line.precision @ z, z.T @ line.precision))
    shares = 100.0 * pull / pull.sum()
    rows = [known.rows[i] for i in line.rows]
    return tuple(
        HeavyPoint(
            number=rows[i].number,
            flown_on=rows[i].flown_on,
            speed_kt=rows[i].speed_at(known.weight_kg),
            share_percent=float(shares[i]),
        )
        for i in np.argsort(-shares, kind="stable")[:_HEAVIEST]
    )


def _settles(
    quantity: Quantity, verdicts: Verdicts, number: int, verdict: AirframeVerdict, sorties: int
) -> str:
    if verdict.largest_departure is None:
        missing = FEWEST_FOR_VERDICT - 1 - verdict.others
        return f"{counted(missing, 'more airframe')} in the group" if missing > 0 else ""
    if verdict.outside:
        return ""
    try:
        if abs(verdict.largest_departure) < quantity.smallest:
            return _narrows(quantity, verdicts, number, verdict, sorties)
        return _settled_by_sorties(verdicts, number, sorties) or _by_airframes(verdicts, number)
    except FitError:
        return ""


def _narrows(
    quantity: Quantity, verdicts: Verdicts, number: int, verdict: AirframeVerdict, sorties: int
) -> str:
    """Say how many sorties bring a wide band within the smallest departure that counts."""
    half = verdict.half_band
    if half <= quantity.smallest:
        return ""
    target = f"{quantity.smallest:.0f} {quantity.unit}"
    now = np.trace(verdicts.standings[number].covariance)
    sums = verdicts.fit.sums
    versions = [measured_again(sums, number, 1.0 + more / sorties) for more in _SORTIES]
    for more, (standing, _) in zip(
        _SORTIES, judge_instead(verdicts, number, versions), strict=True
    ):
        if half * np.sqrt(np.trace(standing.covariance) / now) <= quantity.smallest:
            return (
                f"its departure is known to {quantity.size(half)} only; about "
                f"{counted(more, 'more sortie')} like those flown would bring that to "
                f"{target}"
            )
    return (
        f"its departure is known to {quantity.size(half)} only, and {_SORTIES[-1]} more sorties "
        f"would not bring that to {target}: the group's own curve needs more airframes"
    )


def _settled_by_sorties(verdicts: Verdicts, number: int, sorties: int) -> str:
    sums = verdicts.fit.sums
    times = [*(1.0 + more / sorties for more in _SORTIES), _WITHOUT_ERROR]
    versions = [measured_again(sums, number, many) for many in times]
    chances = [chance for _, chance in judge_instead(verdicts, number, versions)]
    for more, chance in zip(_SORTIES, chances, strict=False):
        if chance < FAMILY_LEVEL:
            return (
                f"if the departure stays what it is, {counted(more, 'more sortie')} like those "
                "flown would put it outside; in simulated fleets one time in three did so, since "
                "a departure looked at for being large tends to shrink"
            )
    if chances[-1] < FAMILY_LEVEL:
        return f"more than {_SORTIES[-1]} further sorties like those flown, or better ones"
    return ""


def _by_airframes(verdicts: Verdicts, number: int) -> str:
    sums = verdicts.fit.sums
    mates = [
        a
        for a in np.flatnonzero(sums.group_of == sums.group_of[number])
        if a != number and a not in verdicts.suspects
    ]
    beginning = (
        "measuring it better cannot settle it: airframes of this group differ so much, or are so "
        "few, that one measured without error might depart this far; "
    )
    for more in _AIRFRAMES:
        copies = [int(mates[i % len(mates)]) for i in range(more)]
        version = measured_again(sums, number, 1.0)
        ((_, chance),) = judge_instead(verdicts, number, [version], copies)
        if chance < FAMILY_LEVEL:
            return (
                f"{beginning}about {counted(more, 'more airframe')} like the others in the group "
                "would put it outside, if the departure stays what it is"
            )
    return f"{beginning}nor would {_AIRFRAMES[-1]} more airframes like the others change that"
