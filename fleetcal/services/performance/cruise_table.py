"""Cruise of one pairing or airframe: true airspeeds at powers and altitudes, handbook beside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.model_checks import (
    BEND_LEVEL,
    DOMINATING,
    SCATTER_LEVEL,
    GroupCheck,
    fit_checked,
)
from fleetcal.fleet.outliers import Verdicts, judge_fleet
from fleetcal.fleet.pooled import PooledFit, supported_order
from fleetcal.services.handbook.fitted_port import spans_flown
from fleetcal.services.performance.cruise_groups import (
    CruiseRequest,
    KnownCruise,
    gather_cruise,
    pairing_of,
)
from fleetcal.services.performance.cruise_runs import middle_scaling_kt, power_doubt
from fleetcal.services.performance.cruise_speeds import (
    CruiseAsk,
    CruiseCurve,
    CruiseSpeed,
    own_cruise,
    pooled_cruise,
)
from fleetcal.store import Store

#: What is told where no handbook is in the store and nothing was asked for: common practice.
POWERS_PCT: Final = (55.0, 65.0, 75.0)
ALTITUDES_FT: Final = (2000.0, 4000.0, 6000.0, 8000.0, 10000.0)
#: Chance of any false flag among the airframes judged, and the least departure that is told.
FAMILY_LEVEL: Final = 0.05
LEAST_KT: Final = 2.0
#: How far beyond the altitudes and powers flown a line stands without a remark.
_NEAR_FT: Final = 1000.0
_NEAR_PCT: Final = 2.0


@dataclass(frozen=True, kw_only=True)
class CruiseLine:
    """True airspeed in standard air at one power and pressure altitude.

    `mean_...` is the 95 % band of the mean of the pairing (or of the airframe),
    `next_...` that for its next aircraft; the difference is the handbook's less
    ours, its band that of the mean. Empty with the reason in `note` where not known.
    """

    handbook: str
    power_pct: float
    pressure_altitude_ft: float
    weight_kg: float
    tas_kt: float | None
    mean_low_kt: float | None
    mean_high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    handbook_tas_kt: float | None
    difference_kt: float | None
    difference_low_kt: float | None
    difference_high_kt: float | None
    note: str


@dataclass(frozen=True, kw_only=True)
class StandardRun:
    """One run, and its true airspeed in standard air at reference weight at its own power."""

    point: int
    airframe: str
    power_pct: float
    pressure_altitude_ft: float
    tas_kt: float
    standard_tas_kt: float | None
    u_standard_tas_kt: float | None
    less_curve_kt: float | None


@dataclass(frozen=True, kw_only=True)
class AirframeCruise:
    """One airframe against the others of its pairing, in kt of true airspeed at one power."""

    airframe: str
    runs: int
    departure_kt: float | None
    p_value: float | None
    adjusted_p_value: float | None
    verdict: str


@dataclass(frozen=True, kw_only=True)
class CruiseTable:
    """Cruise of one pairing, or of one airframe with it.

    Attributes:
        type, pairing, airframe, flap_setting: `airframe` is empty for the pairing's pooled curve.
        judged_at: Where airframes are compared, in words.
        slowest_viw_kt, fastest_viw_kt: What was flown.
    """

    type: str
    pairing: str
    airframe: str
    flap_setting: str
    reference_weight_kg: float
    lines: tuple[CruiseLine, ...]
    runs: tuple[StandardRun, ...]
    airframes: tuple[AirframeCruise, ...]
    judged_at: str
    slowest_viw_kt: float
    fastest_viw_kt: float
    sorties: int
    order: int
    phi: float
    notes: tuple[str, ...]


def cruise_table(store: Store, request: CruiseRequest) -> CruiseTable:
    """Tell the cruise of a pairing, pooled with the other pairings of the type, or of one airframe.

    Raises:
        UnknownNameError: If type, airframe or pairing are not there.
        DataError: If several could be meant.
        FitError: If too few airframes flew, or the runs determine no curve.
    """
    known = gather_cruise(store, request)
    pooled = _own(known) if request.airframe else _pool(known)
    lines = tuple(_line(known, pooled.curve, one) for one in _asked(known, request))
    runs = _standard_runs(known, pooled)
    judged_at, airframes = _airframes(known, pooled, lines)
    return CruiseTable(
        type=known.type.name,
        pairing=known.pairing,
        airframe=request.airframe or "",
        flap_setting=request.flap_setting,
        reference_weight_kg=known.type.reference_weight_kg,
        lines=lines,
        runs=runs,
        airframes=airframes,
        judged_at=judged_at,
        slowest_viw_kt=pooled.curve.slowest_kt,
        fastest_viw_kt=pooled.curve.fastest_kt,
        sorties=len({known.rows[i].point.sortie_id for i in pooled.mine}),
        order=pooled.order,
        phi=pooled.phi,
        notes=(*pooled.notes, *known.notes),
    )


@dataclass(frozen=True, kw_only=True)
class _Pooled:
    curve: CruiseCurve
    mine: list[int]
    order: int
    phi: float
    notes: tuple[str, ...]
    verdicts: Verdicts | None = None
    group: int = 0


def _own(known: KnownCruise) -> _Pooled:
    scaling = middle_scaling_kt(known.runs)
    curve = own_cruise(known.points, power_doubt(known.runs, scaling), scaling)
    told = (
        "one airframe alone: an error that its engine display or chart always makes is in the "
        "band only as far as the noted uncertainty of the power says",
    )
    return _Pooled(curve=curve, mine=list(range(len(known.rows))), order=1, phi=1.0, notes=told)


def _pool(known: KnownCruise) -> _Pooled:
    group = known.pairings.index(known.pairing)
    points = known.points
    owner = points.group_of[points.aircraft]
    mine = [int(i) for i in np.flatnonzero(owner == group)]
    order = min(supported_order(points), 1)  # a parabolic polar is a line
    fit, checks = fit_checked(points, order)
    curve = pooled_cruise(fit, group, middle_scaling_kt(known.runs), _span(known, mine))
    verdicts = judge_fleet(points, FAMILY_LEVEL, order)
    return _Pooled(
        curve=curve,
        mine=mine,
        order=order,
        phi=fit.phi,
        notes=_doubts(fit, checks[group]),
        verdicts=verdicts,
        group=group,
    )


def _doubts(fit: PooledFit, check: GroupCheck) -> tuple[str, ...]:
    told = []
    if check.scatter_p_value < SCATTER_LEVEL:
        told.append(f"the runs scatter {check.scatter:.1f} times more than their uncertainties say")
    if check.misfit.p_value < BEND_LEVEL:
        told.append("the runs bend away from the line of a parabolic polar; both bands are wider")
    if check.heaviest_share > DOMINATING:
        told.append("one sortie outweighs all others; both bands are wider")
    if fit.phi > 1.1:
        told.append(f"all uncertainties were taken {np.sqrt(fit.phi):.1f} times larger")
    return tuple(told)


def _span(known: KnownCruise, mine: list[int]) -> tuple[float, float]:
    """Return the slowest and fastest VIW that three airframes flew."""
    speeds, owner = known.runs.flight.viw, known.points.aircraft
    ranges = []
    for aircraft in sorted({int(owner[i]) for i in mine}):
        flown = speeds[[i for i in mine if owner[i] == aircraft]]
        ranges.append((float(flown.min()), float(flown.max())))
    spans = spans_flown(ranges)
    if not spans:
        raise FitError("no speed was flown by three airframes", "fly the same powers and altitudes")
    return spans[0][0], spans[-1][1]


def _asked(
    known: KnownCruise, request: CruiseRequest
) -> list[tuple[str, float, float, float, float | None]]:
    """Return (handbook, power, altitude, weight, handbook TAS), sorted."""
    lines: list[tuple[str, float, float, float, float | None]] = [
        (book.name, power, altitude, book.weight_kg, tas)
        for book in known.books
        for power, altitude, tas in book.rows
    ]
    if request.power_pct or request.altitude_ft or not lines:
        weight = known.type.reference_weight_kg
        lines += [
            ("", power, altitude, weight, None)
            for altitude in request.altitude_ft or ALTITUDES_FT
            for power in request.power_pct or POWERS_PCT
        ]
    return sorted(lines, key=lambda line: (line[0], line[2], line[1]))


def _line(
    known: KnownCruise, curve: CruiseCurve, asked: tuple[str, float, float, float, float | None]
) -> CruiseLine:
    book, power, altitude, weight, tas = asked
    found = curve.speed(CruiseAsk(power, altitude, weight / known.type.reference_weight_kg))
    ours, low, high = (_or_none(v) for v in (found.tas_kt, found.mean_low_kt, found.mean_high_kt))
    told = (found.why, *_carried(known, power, altitude)) if ours is not None else (found.why,)
    if low is None or high is None:
        low = high = None
    next_low, next_high = _next(found)
    return CruiseLine(
        handbook=book,
        power_pct=power,
        pressure_altitude_ft=altitude,
        weight_kg=weight,
        tas_kt=ours,
        mean_low_kt=low,
        mean_high_kt=high,
        next_low_kt=next_low,
        next_high_kt=next_high,
        handbook_tas_kt=tas,
        difference_kt=None if tas is None or ours is None else tas - ours,
        difference_low_kt=None if tas is None or high is None else tas - high,
        difference_high_kt=None if tas is None or low is None else tas - low,
        note="; ".join(text for text in told if text),
    )


def _next(found: CruiseSpeed) -> tuple[float | None, float | None]:
    low, high = _or_none(found.next_low_kt), _or_none(found.next_high_kt)
    return (None, None) if low is None or high is None else (low, high)


def _carried(known: KnownCruise, power: float, altitude: float) -> list[str]:
    """Return in words how far a line lies beyond the powers and altitudes flown."""
    rows = [row for row in known.rows if pairing_of(row) == known.pairing]
    heights = [row.point.pressure_altitude_ft for row in rows]
    powers = [row.power.power_pct for row in rows]
    told = []
    if not min(heights) - _NEAR_FT <= altitude <= max(heights) + _NEAR_FT:
        told.append(f"flown from {min(heights):.0f} to {max(heights):.0f} ft")
    if not min(powers) - _NEAR_PCT <= power <= max(powers) + _NEAR_PCT:
        told.append(f"flown at {min(powers):.0f} to {max(powers):.0f} %")
    return [f"carried here by the power relation: {' and '.join(told)}"] if told else []


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _standard_runs(known: KnownCruise, pooled: _Pooled) -> tuple[StandardRun, ...]:
    """Return every run of the pairing in standard air at reference weight."""
    points, curve = known.points, pooled.curve
    centre = curve.centre(points.x)
    power = power_doubt(known.runs, middle_scaling_kt(known.runs))
    told = []
    for i in pooled.mine:
        row = known.rows[i]
        now = 100.0 * float(np.asarray(known.runs.flight.power)[i])
        ask = CruiseAsk(now, row.point.pressure_altitude_ft + row.point.dhpc_ft, 1.0)
        standard = curve.shifted_tas_kt(ask, float(points.y[i] - centre[i]))
        mean = curve.shifted_tas_kt(ask, 0.0)
        lasting = (*points.u_shared[i], *points.u_airframe[i])
        u = float(np.linalg.norm([points.u_own[i], power[i], *lasting]))
        doubt = abs(curve.shifted_tas_kt(ask, float(points.y[i] - centre[i]) + u) - standard)
        assert row.point.tas_kt is not None
        told.append(
            StandardRun(
                point=row.point.point_id,
                airframe=row.point.airframe,
                power_pct=now,
                pressure_altitude_ft=row.point.pressure_altitude_ft,
                tas_kt=row.point.tas_kt,
                standard_tas_kt=_or_none(standard),
                u_standard_tas_kt=_or_none(doubt),
                less_curve_kt=_or_none(standard - mean),
            )
        )
    return tuple(told)


def _airframes(
    known: KnownCruise, pooled: _Pooled, lines: Sequence[CruiseLine]
) -> tuple[str, tuple[AirframeCruise, ...]]:
    """Return where airframes are compared, and how each stands there."""
    solved = [line for line in lines if line.tas_kt is not None]
    solved = [line for line in solved if not line.note] or solved
    if pooled.verdicts is None or not solved:
        return "", ()
    line = sorted(solved, key=lambda one: one.tas_kt or 0.0)[len(solved) // 2]
    ask = CruiseAsk(
        line.power_pct, line.pressure_altitude_ft, line.weight_kg / known.type.reference_weight_kg
    )
    mean = pooled.curve.shifted_tas_kt(ask, 0.0)
    x = np.array([pooled.curve.abscissa_at(ask)])
    told = []
    for standing, p in zip(pooled.verdicts.standings, pooled.verdicts.adjusted, strict=True):
        if known.points.group_of[standing.aircraft] != pooled.group:
            continue
        basis = curve_basis(x, len(standing.departure) - 1)
        off = pooled.curve.shifted_tas_kt(ask, float((basis @ standing.departure)[0])) - mean
        count = int(np.sum(known.points.aircraft == standing.aircraft))
        tag = known.airframes[standing.aircraft]
        told.append(
            AirframeCruise(
                airframe=tag,
                runs=count,
                departure_kt=_or_none(off),
                p_value=_or_none(standing.p_value),
                adjusted_p_value=_or_none(float(p)),
                verdict=_verdict(float(p), off),
            )
        )
    return f"{line.power_pct:.0f} % at {line.pressure_altitude_ft:.0f} ft", tuple(told)


def _verdict(p: float, departure_kt: float) -> str:
    if not np.isfinite(p) or not np.isfinite(departure_kt):
        return "cannot be told"
    outside = p < FAMILY_LEVEL and abs(departure_kt) >= LEAST_KT
    return "outside" if outside else "inside"
