"""Fit the curve of one group, and tell it in knots with both bands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict

import numpy as np

from fleetcal.fleet.pooled import PooledFit
from fleetcal.publish.table_row import TableRow
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.curve_rows import curve_rows
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.fit_airframe import OwnFit
from fleetcal.services.curves.fit_group import fit_group
from fleetcal.services.curves.fit_pool import fit_pool
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.light_weight import at_light_weight
from fleetcal.services.curves.own_answers import own_answers
from fleetcal.services.curves.own_curve_words import (
    few_model_words,
    own_doubts,
    own_model_words,
    rests_on,
)
from fleetcal.services.curves.pool_members import AirframeLeftOut, left_out_sentences
from fleetcal.services.curves.speed_grid import speeds_flown
from fleetcal.services.curves.standing_words import PRIOR_WORDS, fit_words
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.pitot_words import pitot_error_words
from fleetcal.services.yardstick_words import yardstick_line
from fleetcal.store import Store

__all__ = ["CurveRequest", "PooledCurve", "describe_curve", "fit_group", "fit_pool", "pooled_curve"]


class _Model(TypedDict):
    """What a curve says of its model."""

    order: int
    spread_level_kappa: float
    spread_tilt_kappa: float
    phi: float
    model: str


@dataclass(frozen=True, kw_only=True)
class PooledCurve:
    """The curve of one group.

    Attributes:
        type, group, static_source, engine, propeller, flap_setting: What the curve is of; engine
            and propeller None when pairings are pooled.
        weight_kg: Weight that the airspeeds are for.
        altitude_ft: Pressure altitude that the altimeter corrections are for.
        airframes, sorties, points: What was pooled.
        order: Of the curve in s = (Vs/Viw)^2.
        spread_level_kappa, spread_tilt_kappa: Standard deviation between aircraft, of level and
            tilt.
        phi: Factor found on the variances of the points.
        outside: Airframes in this pool that stand outside it, and why.
        without: Airframes of this group that are not in the pool.
        doubts: What speaks against the model, and what was made of it.
        yardstick: The curve beside limits that rules have had, for information.
        light_weight_kg: Lightest weight flown, if the correction there differs by more than half
            the band for another aircraft at some speed.
        pitot: What an error of the pitot would do at the fastest speed.
        airframe: Whose own curve it is, in which case both bands are its own; None for a group.
        answers: What the indicator of an airframe does, in sentences.
        rests_on: What the curve of an airframe, or of a group too small to be pooled, rests on.
    """

    type: str
    group: str
    static_source: str
    engine: str | None
    propeller: str | None
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    rows: tuple[TableRow, ...]
    airframes: int
    sorties: int
    points: int
    order: int
    spread_level_kappa: float
    spread_tilt_kappa: float
    phi: float
    model: str
    outside: tuple[str, ...]
    left_out: tuple[str, ...]
    doubts: tuple[str, ...] = ()
    yardstick: str = ""
    without: tuple[AirframeLeftOut, ...] = ()
    light_weight_kg: float | None = None
    pitot: str = ""
    airframe: str | None = None
    rests_on: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()


def pooled_curve(store: Store, request: CurveRequest) -> PooledCurve:
    """Fit a group and tell its curve.

    Raises:
        UnknownNameError: If type or group are not in the store.
        FitError: If fewer than three airframes have points, or the points determine no curve.
    """
    fitted = fit_group(store, request)
    return describe_curve(fitted)


def describe_curve(fitted: FittedGroup) -> PooledCurve:
    """Return a fitted group as a result to print."""
    known, name, airframe = fitted.known, fitted.name, fitted.airframe
    rows = known.rows_of(fitted.number)
    speeds = speeds_flown(fitted.rows, fitted.weight_kg, fitted.request.step_kt)
    fine = tuple(float(v) for v in np.arange(speeds[0], speeds[-1] + 0.5))
    light_kg, marked_rows = at_light_weight(fitted, _rows(fitted, speeds), fine)
    known_cas = [(row.given_kt, row.cas_kt) for row in marked_rows if row.cas_kt is not None]
    return PooledCurve(
        type=known.type.name,
        group=str(name),
        static_source=name.static_source,
        engine=name.engine,
        propeller=name.propeller,
        flap_setting=known.flap_setting,
        weight_kg=fitted.weight_kg,
        altitude_ft=fitted.request.altitude_ft,
        rows=marked_rows,
        airframes=len({row.airframe for row in rows}),
        sorties=len({row.sortie_id for row in rows}),
        points=len(rows),
        **_model(fitted),
        outside=fitted.pool.kept_in(name),
        left_out=_left_out(fitted),
        doubts=_doubts(fitted),
        yardstick=yardstick_line([ias for ias, _ in known_cas], [cas for _, cas in known_cas]),
        without=fitted.without,
        light_weight_kg=light_kg,
        pitot=pitot_error_words(
            max((ias for ias, _ in known_cas), default=max(speeds)), fitted.request.altitude_ft
        ),
        airframe=None if airframe is None else airframe.tag,
        rests_on=rests_on(fitted),
        answers=()
        if airframe is None
        else own_answers(airframe.tag, marked_rows, fitted.weight_kg),
    )


def _rows(fitted: FittedGroup, speeds: tuple[float, ...]) -> tuple[TableRow, ...]:
    """Return the lines of a curve; one airframe's begin and end with a speed that was flown."""
    rows = curve_rows(fitted, speeds)
    filled = [place for place, row in enumerate(rows) if row.correction_kt is not None]
    if fitted.airframe is None or not filled:
        return rows
    return rows[filled[0] : filled[-1] + 1]


def _model(fitted: FittedGroup) -> _Model:
    if isinstance(fitted.fit, OwnFit):
        return _Model(
            order=fitted.fit.order,
            spread_level_kappa=0.0,
            spread_tilt_kappa=0.0,
            phi=fitted.fit.curve.scatter**2,
            model=own_model_words(fitted.fit.curve, fitted),
        )
    fit = fitted.pooled
    spread = np.sqrt(np.maximum(np.diag(fit.spread), 0.0))
    words = _model_words(fitted.known, fit) if fitted.check else few_model_words(fitted)
    return _Model(
        order=fit.order,
        spread_level_kappa=float(spread[0]),
        spread_tilt_kappa=float(spread[1]) if len(spread) > 1 else 0.0,
        phi=fit.phi,
        model=words,
    )


def _doubts(fitted: FittedGroup) -> tuple[str, ...]:
    if fitted.check is not None:
        return doubts_of(fitted.known, fitted.number, fitted.check, fitted.pooled)
    return own_doubts(fitted)


def _model_words(known: TypePoints, fit: PooledFit) -> str:
    aircraft = f" ({len(fit.sums.group_of)} aircraft)"
    return (
        f"{fit_words(known.quantity, fit, len(known.groups), aircraft)}; "
        f"bands averaged over the spread, {PRIOR_WORDS}, and over what the mean has beyond the "
        "curve, a random walk over the logarithm of speed sized by the points; "
        f"variances of the points times {fit.phi:.2f}"
    )


def _left_out(fitted: FittedGroup) -> tuple[str, ...]:
    if fitted.airframe is not None:
        out = (*fitted.known.rejected, *fitted.known.barred)
        own = [row for row in out if row.airframe == fitted.airframe.tag]
        return count_reasons((row.airframe, row.barred or row.reason) for row in own)
    rejected = [row for row in fitted.known.rejected if fitted.name.holds(row)]
    refused = count_reasons((row.airframe, row.reason) for row in rejected)
    return (
        *left_out_sentences(fitted.pool.left_out, fitted.name),
        *(f"{note}." for note in (*refused, *fitted.known.barred_of(fitted.name))),
    )
