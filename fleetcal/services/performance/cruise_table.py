"""Cruise of one pairing or airframe: true airspeeds at powers and altitudes, handbook beside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.services.performance.cruise_flown import (
    CruiseRequest,
    FlownCruise,
    cruise_of_airframe,
    cruise_of_pairing,
)
from fleetcal.services.performance.cruise_runs import power_doubt
from fleetcal.services.performance.cruise_speeds import CruiseAsk, CruiseSpeed
from fleetcal.store import CruiseTableDescription, Store, load_cruise_tables

#: What is told where no handbook is in the store and nothing was asked for: common practice.
POWERS_PCT: Final = (55.0, 65.0, 75.0)
ALTITUDES_FT: Final = (2000.0, 4000.0, 6000.0, 8000.0, 10000.0)
#: How far beyond the altitudes and powers flown a line stands without a remark.
_NEAR_FT: Final = 1000.0
_NEAR_PCT: Final = 2.0


@dataclass(frozen=True, kw_only=True)
class CruiseLine:
    """True airspeed in standard air at one power and pressure altitude.

    `mean_...` is the 95 % band of the mean of the pairing (or of the airframe),
    `next_...` that for another aircraft of it; the difference is the handbook's less
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
    flown = (cruise_of_airframe if request.airframe else cruise_of_pairing)(store, request)
    with store.reading() as session:
        books = [
            book
            for book in load_cruise_tables(session)
            if book.type == flown.type.name and f"{book.engine} / {book.propeller}" == flown.pairing
        ]
    lines = tuple(_line(flown, one) for one in _conditions(flown, books, request))
    judged_at, airframes = _airframes(flown, lines)
    return CruiseTable(
        type=flown.type.name,
        pairing=flown.pairing,
        airframe=request.airframe or "",
        flap_setting=request.flap_setting,
        reference_weight_kg=flown.type.reference_weight_kg,
        lines=lines,
        runs=_standard_runs(flown),
        airframes=airframes,
        judged_at=judged_at,
        slowest_viw_kt=flown.curve.slowest_kt,
        fastest_viw_kt=flown.curve.fastest_kt,
        sorties=len({row.point.sortie_id for row in flown.rows}),
        order=flown.order,
        phi=flown.phi,
        notes=flown.notes,
    )


def _conditions(
    flown: FlownCruise, books: list[CruiseTableDescription], request: CruiseRequest
) -> list[tuple[str, float, float, float, float | None]]:
    """Return (handbook, power, altitude, weight, handbook TAS), sorted."""
    lines: list[tuple[str, float, float, float, float | None]] = [
        (book.name, power, altitude, book.weight_kg, tas)
        for book in books
        for power, altitude, tas in book.rows
    ]
    if request.power_pct or request.altitude_ft or not lines:
        weight = flown.type.reference_weight_kg
        lines += [
            ("", power, altitude, weight, None)
            for altitude in request.altitude_ft or ALTITUDES_FT
            for power in request.power_pct or POWERS_PCT
        ]
    return sorted(lines, key=lambda line: (line[0], line[2], line[1]))


def _line(
    flown: FlownCruise, conditions: tuple[str, float, float, float, float | None]
) -> CruiseLine:
    book, power, altitude, weight, tas = conditions
    found = flown.curve.speed(CruiseAsk(power, altitude, weight / flown.type.reference_weight_kg))
    ours, low, high = (_or_none(v) for v in (found.tas_kt, found.mean_low_kt, found.mean_high_kt))
    reasons = (found.why, *_carried(flown, power, altitude)) if ours is not None else (found.why,)
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
        note="; ".join(text for text in reasons if text),
    )


def _next(found: CruiseSpeed) -> tuple[float | None, float | None]:
    low, high = _or_none(found.next_low_kt), _or_none(found.next_high_kt)
    return (None, None) if low is None or high is None else (low, high)


def _carried(flown: FlownCruise, power: float, altitude: float) -> list[str]:
    """Return in words how far a line lies beyond the powers and altitudes flown."""
    heights = [row.point.pressure_altitude_ft for row in flown.rows]
    powers = [row.power.power_pct for row in flown.rows]
    ranges = []
    if not min(heights) - _NEAR_FT <= altitude <= max(heights) + _NEAR_FT:
        ranges.append(f"flown from {min(heights):.0f} to {max(heights):.0f} ft")
    if not min(powers) - _NEAR_PCT <= power <= max(powers) + _NEAR_PCT:
        ranges.append(f"flown at {min(powers):.0f} to {max(powers):.0f} %")
    return [f"carried here by the power relation: {' and '.join(ranges)}"] if ranges else []


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _standard_runs(flown: FlownCruise) -> tuple[StandardRun, ...]:
    """Return every run of the pairing in standard air at reference weight."""
    points, curve = flown.points, flown.curve
    away = points.y - curve.centre(points.x)
    power = power_doubt(flown.runs, flown.scaling_kt)
    found = []
    for i, row in enumerate(flown.rows):
        now = 100.0 * float(np.asarray(flown.runs.flight.power)[i])
        ask = CruiseAsk(now, row.point.pressure_altitude_ft + row.point.dhpc_ft, 1.0)
        standard = curve.shifted_tas_kt(ask, float(away[i]))
        mean = curve.shifted_tas_kt(ask, 0.0)
        lasting = (*points.u_shared[i], *points.u_airframe[i])
        u = float(np.linalg.norm([points.u_own[i], power[i], *lasting]))
        doubt = abs(curve.shifted_tas_kt(ask, float(away[i]) + u) - standard)
        assert row.point.tas_kt is not None
        found.append(
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
    return tuple(found)


def _airframes(
    flown: FlownCruise, lines: tuple[CruiseLine, ...]
) -> tuple[str, tuple[AirframeCruise, ...]]:
    """Return where airframes are compared, and how each stands there.

    The verdict is the one on all speeds flown, as `judge_airframes` gives it.
    """
    solved = [line for line in lines if line.tas_kt is not None]
    solved = [line for line in solved if not line.note] or solved
    if flown.pool is None or not solved:
        return "", ()
    line = sorted(solved, key=lambda one: one.tas_kt or 0.0)[len(solved) // 2]
    ask = CruiseAsk(
        line.power_pct, line.pressure_altitude_ft, line.weight_kg / flown.type.reference_weight_kg
    )
    mean = flown.curve.shifted_tas_kt(ask, 0.0)
    x = np.array([flown.curve.abscissa_at(ask)])
    found = []
    for standing, verdict in zip(flown.pool.verdicts.standings, flown.pool.judged, strict=True):
        if verdict.group != flown.pairing:
            continue
        basis = curve_basis(x, len(standing.departure) - 1)
        off = flown.curve.shifted_tas_kt(ask, float((basis @ standing.departure)[0])) - mean
        found.append(
            AirframeCruise(
                airframe=verdict.airframe,
                runs=verdict.points,
                departure_kt=_or_none(off),
                p_value=verdict.p_value,
                adjusted_p_value=verdict.adjusted_p_value,
                verdict=verdict.verdict,
            )
        )
    return f"{line.power_pct:.0f} % at {line.pressure_altitude_ft:.0f} ft", tuple(found)
