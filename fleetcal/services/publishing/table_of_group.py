"""A fitted group, or an airframe's own curve, as the plain table that is published."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from fleetcal.airdata.yardsticks import largest_airspeed_error
from fleetcal.errors import FitError
from fleetcal.publish.one_airframe import OneAirframe
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit, lowest_bound
from fleetcal.publish.table_row import ReadingRow, TableRow
from fleetcal.services.as_read import INDICATOR
from fleetcal.services.curves.curve_rows import curve_rows
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.own_answers import own_answers
from fleetcal.services.curves.pooled_curve import PooledCurve
from fleetcal.services.curves.position_error import stored_points
from fleetcal.services.curves.speed_grid import lift_at, reach_of, speed_correction_kt
from fleetcal.services.handbook.carried_limits import CarriedLimit, carry_limits
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.limit_sources import FLAPS, NEVER_EXCEED, StatedLimit
from fleetcal.services.handbook.reading_rows import reading_rows
from fleetcal.store import StoredPoint
from fleetcal.units import from_si, to_si
from fleetcal.version import __version__
from fleetcal.wording import counted


def table_of_group(
    fitted: FittedGroup,
    curve: PooledCurve,
    made_on: date,
    form: TableForm | None = None,
    limits: Sequence[StatedLimit] = (),
) -> PooledTable:
    """Return the table of a fitted group, or of one airframe.

    Args:
        curve: Of the same group.
        made_on: Printed on the table.
        form: Direction and unit; IAS to CAS in knots when left out.
        limits: Of the type; carried to this port.

    Raises:
        FitError: If no speed was flown by enough airframes, or the table is to go from CAS to IAS
            and the curve cannot be solved.
    """
    form = form or TableForm()
    speeds = _fine_speeds(curve, fitted.request.fewest)
    carried = _limits(fitted, limits)
    own = _airframe(fitted, curve, speeds)
    table = replace(
        _table(fitted, curve, made_on, speeds),
        limits=carried,
        light_weight_kg=curve.light_weight_kg,
        airframe=own and replace(own, answers=_answers(curve, lowest_bound(carried), form)),
    )
    readings: tuple[ReadingRow, ...] = ()
    if form.from_cas:
        readings = reading_rows(FittedPort(fitted), fitted.request.step_kt, curve.light_weight_kg)
    return replace(table, form=form, readings=readings, allowed=allowed_error(table.curve))


def _fine_speeds(curve: PooledCurve, fewest: int) -> tuple[float, ...]:
    """Return the airspeeds of the figure's curve, a knot apart."""
    reached = [row.given_kt for row in curve.rows if row.cas_kt is not None]
    if not reached:
        raise FitError(
            f"{curve.group}: no speed of the table was flown by {counted(fewest, 'airframe')}",
            "fly the airframes of the group at the same speeds, or ask for smaller steps",
        )
    return tuple(float(v) for v in np.arange(min(reached), max(reached) + 0.5))


def _table(
    fitted: FittedGroup, curve: PooledCurve, made_on: date, fine: tuple[float, ...]
) -> PooledTable:
    return PooledTable(
        type_name=curve.type,
        static_source=curve.static_source,
        engine=curve.engine,
        propeller=curve.propeller,
        flap_setting=curve.flap_setting,
        weight_kg=curve.weight_kg,
        altitude_statement=(
            f"Altimeter corrections hold at {curve.altitude_ft:.0f} ft pressure altitude."
        ),
        rows=curve.rows,
        points=_points(fitted),
        curve=curve_rows(fitted, fine),
        airframe_count=curve.airframes,
        sortie_count=curve.sorties,
        point_count=curve.points,
        model=curve.model,
        left_out=curve.left_out,
        made_on=made_on,
        program_version=__version__,
        doubts=tuple(f"{sentence}." for sentence in (*curve.outside, *curve.doubts)),
        yardstick=curve.yardstick,
        without=tuple(map(str, curve.without)),
        pitot=curve.pitot,
    )


def _airframe(
    fitted: FittedGroup, curve: PooledCurve, fine: tuple[float, ...]
) -> OneAirframe | None:
    """Return whose own curve it is, with the mean of the group that it was joined with."""
    if curve.airframe is None:
        return None
    return OneAirframe(
        tag=curve.airframe,
        rests_on=curve.rests_on,
        group_mean=() if fitted.group is None else _group_mean(fitted, fitted.group, fine),
    )


def _answers(curve: PooledCurve, bound: TableLimit | None, form: TableForm) -> tuple[str, ...]:
    """Return what an airframe's indicator does, in the unit of the table.

    Args:
        bound: No sentence is about a faster speed.
    """
    safe = [row for row in curve.rows if bound is None or row.given_kt <= bound.usable_kt]
    return own_answers(curve.airframe or "", safe or curve.rows, curve.weight_kg, form)


def _group_mean(
    fitted: FittedGroup, group: FittedGroup, fine: tuple[float, ...]
) -> tuple[tuple[float, float], ...]:
    """Return the mean of a group at the weight of an airframe's table, where the group flew."""
    reached = reach_of(group.rows, fitted.weight_kg)
    speeds = [v for v in fine if reached.by(v)]
    if not speeds:
        return ()
    ias = np.array(speeds)
    lift = lift_at(group.known.type, ias, fitted.weight_kg)
    mean = speed_correction_kt(ias, group.fit.centre(group.number, lift))
    return tuple((v, float(correction)) for v, correction in zip(speeds, mean, strict=True))


def _limits(fitted: FittedGroup, limits: Sequence[StatedLimit]) -> tuple[TableLimit, ...]:
    bounds = (NEVER_EXCEED,) if fitted.known.flap_setting == "up" else (NEVER_EXCEED, FLAPS)
    here = carry_limits(limits, FittedPort(fitted))
    lightest = min(row.weight_kg for row in fitted.rows)
    light = carry_limits(limits, FittedPort(replace(fitted, weight_kg=lightest)))
    # The table is for one weight, a bound is kept at every weight that is flown.
    lower = (
        other if limit.kind in bounds and _lower(other, limit) else limit
        for limit, other in zip(here, light, strict=True)
    )
    return tuple(
        TableLimit(limit.name, limit.usable_kt, limit.reasons, limit.kind in bounds)
        for limit in lower
    )


def _lower(other: CarriedLimit, limit: CarriedLimit) -> bool:
    """Tell whether a limit was carried at another weight, and lies lower there."""
    return other.ias_kt is not None and other.usable_kt < limit.usable_kt


def allowed_error(curve: tuple[TableRow, ...]) -> tuple[tuple[float, float], ...]:
    """Return the airspeed error that a rule allowed, along a curve.

    Returns:
        Tuple of (ias_kt, error_kt).
    """
    known = [(row.given_kt, row.cas_kt) for row in curve if row.cas_kt is not None]
    if not known:
        return ()
    limits = from_si(largest_airspeed_error(to_si(np.array([cas for _, cas in known]), "kt")), "kt")
    return tuple((ias, float(limit)) for (ias, _), limit in zip(known, limits, strict=True))


def _points(fitted: FittedGroup) -> tuple[PlottedPoint, ...]:
    """Return the points moved to the table's weight, with the kappa they were measured at.

    Of an airframe its own alone, not those of its group, and with the uncertainty of what the
    indicator reads: the curve is of that.
    """
    if fitted.airframe is None:
        return plotted_points(stored_points(fitted.rows), fitted.weight_kg)
    rows = stored_points(fitted.known.rows)
    return tuple(
        replace(point, u_correction_kt=point.u_correction_kt * _share_as_read(row))
        for row, point in zip(rows, plotted_points(rows, fitted.weight_kg), strict=True)
    )


def _share_as_read(row: StoredPoint) -> float:
    """Return which part of a point's uncertainty remains without the indicator's own error."""
    indicator = sum(term.u_kappa**2 for term in row.terms if term.name == INDICATOR)
    return float(np.sqrt(max(1.0 - indicator / row.u_kappa**2, 0.0)))


def plotted_points(rows: Sequence[StoredPoint], weight_kg: float) -> tuple[PlottedPoint, ...]:
    """Return points moved to another weight, each with the kappa that it was measured at."""
    flown = np.array([row.weight_kg for row in rows], dtype=np.float64)
    ias = np.array([row.vic_kt for row in rows], dtype=np.float64) * np.sqrt(weight_kg / flown)
    corrections = speed_correction_kt(ias, np.array([row.kappa for row in rows], dtype=np.float64))
    return tuple(
        PlottedPoint(
            airframe=row.airframe,
            ias_kt=speed,
            correction_kt=correction,
            u_correction_kt=row.u_dvpc_kt * speed / row.vic_kt,
            read_kt=row.vic_kt,
            read_at_kg=row.weight_kg,
        )
        for row, speed, correction in zip(rows, ias.tolist(), corrections.tolist(), strict=True)
    )
