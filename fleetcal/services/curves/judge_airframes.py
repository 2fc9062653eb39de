"""Where airframes stand against their groups, in knots and in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.outliers import Verdicts, judge_fleet
from fleetcal.fleet.standing import FEWEST_FOR_VERDICT, Standing
from fleetcal.services.curves.groups import TypePoints, gather_points
from fleetcal.services.curves.speed_grid import ias_at_weight, lift_at, speed_correction_kt
from fleetcal.store import Store, find_airframe

#: A departure below this everywhere is not called outside, however sure, kt.
SMALLEST_DEPARTURE_KT = 2.0
#: Chance of any false flag that is accepted over all airframes judged together.
FAMILY_LEVEL = 0.05


@dataclass(frozen=True)
class DepartureRow:
    """Departure from the group at one airspeed, positive where it reads slower.

    The departure is of the correction CAS - IAS, in knots, with the 95 % band
    of its measurement.
    """

    airframe: str
    group: str
    ias_kt: float
    departure_kt: float
    low_kt: float
    high_kt: float


@dataclass(frozen=True)
class AirframeVerdict:
    """One airframe against the others of its group.

    Attributes
    ----------
    airframe, group : str
    verdict : str
        ``inside``, ``outside`` or ``cannot be told``: with too few others, or far
        off but not surely so once all that were judged are allowed for.
    outside : bool
    reason : str
        In words.
    largest_departure_kt, at_ias_kt : float or None
        Where it departs most, within the speeds it flew.
    p_value, adjusted_p_value : float or None
        For this airframe alone, and for having looked at all of them.
    others : int
        Airframes it was compared with.
    points : int
    set_aside : bool
        Whether the others were judged without it.
    rows : tuple of DepartureRow
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


@dataclass(frozen=True)
class Judgement:
    """Every airframe judged.

    Attributes
    ----------
    type, flap_setting : str
    weight_kg : float
        Weight that the airspeeds are for.
    judged : int
        Airframes that got a verdict.
    airframes : tuple of AirframeVerdict
        Outside first, then by group and tag.
    left_out : tuple of str
    """

    type: str
    flap_setting: str
    weight_kg: float
    judged: int
    airframes: tuple[AirframeVerdict, ...]
    left_out: tuple[str, ...]

    @property
    def any_outside(self) -> bool:
        """Whether an airframe was found outside its group."""
        return any(a.outside for a in self.airframes)


def judge_airframes(
    store: Store, type_name: str | None = None, flap_setting: str = "up", group: str | None = None
) -> Judgement:
    """Judge every airframe of a type against its group.

    Parameters
    ----------
    store : Store
    type_name : str, optional
    flap_setting : str
    group : str, optional
        Show only this group; all are fitted together, for the spread.

    Returns
    -------
    Judgement

    Raises
    ------
    FitError
        If no group has enough airframes.
    """
    known, wanted = gather_points(store, type_name, flap_setting, group)
    verdicts = judge_fleet(known.points, FAMILY_LEVEL)
    shown = [
        told
        for told in tell_verdicts(known, verdicts)
        if wanted is None or told.group == str(wanted)
    ]
    shown.sort(key=lambda a: (not a.outside, a.group, a.airframe))
    return Judgement(
        known.type.name,
        flap_setting,
        known.type.reference_weight_kg,
        int(np.isfinite(verdicts.adjusted).sum()),
        tuple(shown),
        (*known.too_small, *known.barred_of(wanted)),
    )


def judge_airframe(
    store: Store, tag: str, type_name: str | None = None, flap_setting: str = "up"
) -> Judgement:
    """Judge one airframe in each group it flew in.

    Parameters
    ----------
    store : Store
    tag : str
    type_name : str, optional
    flap_setting : str

    Returns
    -------
    Judgement

    Raises
    ------
    UnknownNameError
        If the airframe is not in the store.
    FitError
        If it has no accepted points in a group that can be fitted.
    """
    with store.reading() as session:
        airframe = find_airframe(session, tag)
        tag, own_type = airframe.tag, airframe.aircraft_type.name
    whole = judge_airframes(store, type_name or own_type, flap_setting)
    mine = tuple(a for a in whole.airframes if a.airframe == tag)
    if not mine:
        barred = "".join(f" ({said})" for said in whole.left_out if f" of {tag}: " in said)
        raise FitError(
            f"{tag}: no accepted points with flaps {flap_setting} in a group that can be fitted"
            f"{barred}",
            "reduce a flight of it, or of others with the same fit",
        )
    return Judgement(
        whole.type, whole.flap_setting, whole.weight_kg, whole.judged, mine, whole.left_out
    )


def tell_verdicts(known: TypePoints, verdicts: Verdicts) -> list[AirframeVerdict]:
    """Tell every verdict in knots and in words.

    Parameters
    ----------
    known : TypePoints
    verdicts : Verdicts
        Of `known.points`.

    Returns
    -------
    list of AirframeVerdict
        In the order of `known.members`.
    """
    return [_tell(known, verdicts, number) for number in range(len(known.members))]


def _tell(known: TypePoints, verdicts: Verdicts, number: int) -> AirframeVerdict:
    member = known.members[number]
    standing = verdicts.standings[number]
    adjusted = float(verdicts.adjusted[number])
    points = int(np.sum(known.points.aircraft == number))
    if not np.isfinite(adjusted):
        reason = (
            f"only {standing.others} other airframes in the group; "
            f"a verdict needs {FEWEST_FOR_VERDICT - 1}"
        )
        return AirframeVerdict(
            member.airframe,
            str(member.group),
            "cannot be told",
            False,
            reason,
            None,
            None,
            None,
            None,
            standing.others,
            points,
            False,
            (),
        )
    rows = _departures(known, verdicts, number)
    worst = max(rows, key=lambda row: abs(row.departure_kt))
    large = abs(worst.departure_kt) >= SMALLEST_DEPARTURE_KT
    outside = large and adjusted < FAMILY_LEVEL
    doubtful = large and standing.p_value < FAMILY_LEVEL
    return AirframeVerdict(
        member.airframe,
        str(member.group),
        "outside" if outside else "cannot be told" if doubtful else "inside",
        outside,
        _reason(rows, standing, adjusted, outside),
        worst.departure_kt,
        worst.ias_kt,
        standing.p_value,
        adjusted,
        standing.others,
        points,
        number in verdicts.suspects,
        rows,
    )


def _departures(known: TypePoints, verdicts: Verdicts, number: int) -> tuple[DepartureRow, ...]:
    member, standing = known.members[number], verdicts.standings[number]
    weight = known.type.reference_weight_kg
    flown = [
        ias_at_weight(row, weight)
        for row, owner in zip(known.rows, known.points.aircraft, strict=True)
        if owner == number
    ]
    speeds = _round_speeds(min(flown), max(flown))
    lift = lift_at(known.type, speeds, weight)
    departure, half = _departure_kappa(standing, lift)
    group = int(known.points.group_of[number])
    centre = curve_basis(lift, verdicts.fit.order) @ verdicts.fit.beta[group]
    base = speed_correction_kt(speeds, centre)

    def in_knots(kappa: Array) -> Array:
        return speed_correction_kt(speeds, np.maximum(centre + kappa, -0.99)) - base

    told = (in_knots(departure), in_knots(departure - half), in_knots(departure + half))
    return tuple(
        DepartureRow(member.airframe, str(member.group), float(v), float(d), float(lo), float(hi))
        for v, d, lo, hi in zip(speeds, *told, strict=True)
    )


def _round_speeds(slowest_kt: float, fastest_kt: float) -> Array:
    speeds = np.arange(np.ceil(slowest_kt / 10.0), np.floor(fastest_kt / 10.0) + 1) * 10.0
    return speeds if len(speeds) else np.array([round((slowest_kt + fastest_kt) / 2.0)])


def _departure_kappa(standing: Standing, lift: Array) -> tuple[Array, Array]:
    z = curve_basis(lift, len(standing.departure) - 1)
    variance = np.einsum("ni,ij,nj->n", z, standing.covariance, z)
    return z @ standing.departure, stats.norm.ppf(0.975) * np.sqrt(variance)


def _reason(
    rows: tuple[DepartureRow, ...], standing: Standing, adjusted: float, outside: bool
) -> str:
    slow, fast = rows[0], rows[-1]
    kind = f"{_shape(slow.departure_kt, fast.departure_kt)}: " if outside else ""
    where = _reads(slow) if len(rows) == 1 else f"{_reads(slow)}, {_reads(fast)}"
    return (
        f"{kind}{where}; one that belongs here would depart this far with a chance "
        f"{_chance(adjusted)}, allowing for all that were judged; "
        f"compared with {standing.others} others"
    )


def _reads(row: DepartureRow) -> str:
    if abs(row.departure_kt) < 0.05:
        return f"reads as the group at {row.ias_kt:.0f} kt"
    way = "slower" if row.departure_kt > 0.0 else "faster"
    return f"reads {abs(row.departure_kt):.1f} kt {way} than the group at {row.ias_kt:.0f} kt"


def _shape(slow_kt: float, fast_kt: float) -> str:
    if slow_kt * fast_kt < 0.0:
        return "a tilt, one way when slow and the other when fast"
    if abs(fast_kt) > 1.5 * abs(slow_kt):
        return "a shift that grows with speed"
    if abs(slow_kt) > 1.5 * abs(fast_kt):
        return "a shift that fades with speed"
    return "a shift over the whole range"


def _chance(p_value: float) -> str:
    return "below 0.1 %" if p_value < 0.001 else f"of {100.0 * p_value:.1f} %"
