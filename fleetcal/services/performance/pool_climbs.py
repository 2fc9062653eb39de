"""The pooled curve of climbs or glides of one pairing, and its best speeds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.few_aircraft import fit_alone
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.port_pooling import pool_pairings
from fleetcal.services.curves.airframe_verdict import FAMILY_LEVEL, AirframeVerdict
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.fit_airframe import carried_group, tag_named
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import points_of_group
from fleetcal.services.curves.once import once
from fleetcal.services.curves.pool_of_group import pool_of_group
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.performance.best_speed import BestSpeed
from fleetcal.services.performance.compare_with_handbook import (
    HandbookSpeedDifference,
    compare_with_handbook,
)
from fleetcal.services.performance.rates_of_fit import IndicatedSpeed, RateRow, RatesOfFit
from fleetcal.store import Store, load_description
from fleetcal.wording import counted, percent


@dataclass(frozen=True, kw_only=True)
class AirframeRate:
    """One airframe against the others of its pairing, where it departs most."""

    airframe: str
    measurements: int
    departure_ftmin: float | None
    at_cas_kt: float | None
    p_value: float | None
    adjusted_p_value: float | None
    verdict: str


@dataclass(frozen=True, kw_only=True)
class PooledClimbs:
    """Climbs or glides of one pairing, pooled.

    Attributes:
        weight_kg, altitude_ft: That the rates are for, in standard air.
        handbook: Best speeds that a handbook of the type names too.
        indicated: The best speeds on each port that the group carries.
        doubts: What speaks against the model, and what was made of it.
        left_out: Measurements that are not in the pool, with the reason.
        without: Airframes of the pairing that are not in the pool, each with why.
        airframe: Whose own curve it is, in which case both bands are its own; None for a pairing.
    """

    type: str
    kind: str
    pairing: str
    power_state: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    rows: tuple[RateRow, ...]
    speeds: tuple[BestSpeed, ...]
    airframes: tuple[AirframeRate, ...]
    measurements: int
    order: int
    phi: float
    notes: tuple[str, ...]
    handbook: tuple[HandbookSpeedDifference, ...] = ()
    indicated: tuple[IndicatedSpeed, ...] = ()
    doubts: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    airframe: str | None = None


def pool_climbs(
    store: Store,
    request: PoolRequest,
    pairing: str | None = None,
    step_kt: float = 5.0,
    figure: Path | None = None,
) -> PooledClimbs:
    """Pool the climbs or glides of a pairing together with the other pairings of the type.

    Args:
        pairing: ``engine / propeller``, or the tag of an airframe; the only pairing when None.
        figure: Draw the curve into this file, .svg, .png or .pdf.

    Raises:
        UnknownNameError: If type or pairing are not there.
        DataError: If several could be meant, or the figure cannot be written.
        FitError: If too few airframes flew.
    """
    tag = None if pairing is None else tag_named(store, pairing)
    if tag is not None:
        return climbs_of_airframe(store, request, tag, step_kt, figure)
    result, pooled = pooled_rates(store, request, pairing, step_kt)
    if figure is not None:
        _draw(pooled, result, figure)
    return result


def pooled_rates(
    store: Store, request: PoolRequest, pairing: str | None = None, step_kt: float = 5.0
) -> tuple[PooledClimbs, RatesOfFit]:
    """Pool as `pool_climbs` does a pairing's, and return the fit too.

    Raises:
        UnknownNameError: If type or pairing are not there.
        DataError: If several could be meant.
        FitError: If too few airframes flew.
    """
    found = pool_of_group(store, request, pairing)
    everybody, known, group = found.everybody, found.pool.known, found.number
    flown, name = known.flown, str(found.name)
    fit, checks = once(fit_checked, known.points, None)  # bands as wide as the points ask for
    pooled = RatesOfFit(known, group, fit)
    speeds = pooled.best_speeds()
    result = PooledClimbs(
        type=known.type.name,
        kind=request.quantity.key,
        pairing=name,
        power_state=flown.power_state,
        flap_setting=known.flap_setting,
        weight_kg=known.weight_kg,
        altitude_ft=pooled.scale.altitude_ft,
        rows=pooled.rows(step_kt),
        speeds=speeds,
        airframes=tuple(_airframe_rate(one) for one in found.judged if one.group == name),
        measurements=len(known.rows_of(group)),
        order=fit.order,
        phi=fit.phi,
        notes=(*_between_pairings(known), *flown.notes),
        handbook=compare_with_handbook(store, known.type.name, known.flap_setting, speeds),
        indicated=pooled.indicated(speeds),
        doubts=(
            *found.pool.kept_in(found.name),
            *doubts_of(known, group, checks[group], fit),
        ),
        left_out=(*_not_used(everybody), *flown.left_out, *everybody.too_small),
        without=tuple(map(str, found.pool.left_out_of(found.name))),
    )
    return result, pooled


def _draw(pooled: RatesOfFit, result: PooledClimbs, file: Path) -> None:
    from fleetcal.services.performance.draw_climbs import draw_climbs

    draw_climbs(
        pooled.known,
        pooled.fit,
        pooled.group,
        span_kt=pooled.span(),
        speeds=result.speeds,
        words=_facts(result),
        file=file,
    )


def climbs_of_airframe(
    store: Store,
    request: PoolRequest,
    tag: str,
    step_kt: float = 5.0,
    figure: Path | None = None,
) -> PooledClimbs:
    """Fit the climbs or glides of one airframe with the pairing that it carries last.

    Raises:
        DataError: If nothing is fitted to it, or the figure cannot be written.
        FitError: If it has none that counts.
    """
    with store.lookup() as reader:
        description = load_description(reader)
    airframe = next(one for one in description.airframes if one.tag == tag)
    carried = carried_group(airframe)
    name = GroupName("", carried.engine, carried.propeller)
    read = request.quantity.read(store, replace(request, type=airframe.type, airframe=tag))
    own = [row for row in read.points if row.airframe == tag and name.holds(row)]
    if not own:
        raise FitError(
            f"{tag} has no {request.quantity.key} with {name} that counts",
            f"reduce one: 'fleetcal reduce LOG --airframe {tag} --quantity "
            f"{request.quantity.key} --power-state STATE'",
        )
    known = points_of_group(read, name, own)
    pooled = RatesOfFit(known, 0, fit_alone(known.points, known.order_of(known.points)), fewest=1)
    result = _of_airframe(store, tag, pooled, step_kt)
    if figure is not None:
        _draw(pooled, result, figure)
    return result


def _of_airframe(store: Store, tag: str, pooled: RatesOfFit, step_kt: float) -> PooledClimbs:
    known, fit, speeds = pooled.known, pooled.fit, pooled.best_speeds()
    left_out = (*_not_used(known), *known.flown.left_out)
    return PooledClimbs(
        type=known.type.name,
        kind=known.quantity.key,
        pairing=str(known.groups[0]),
        power_state=known.flown.power_state,
        flap_setting=known.flap_setting,
        weight_kg=known.weight_kg,
        altitude_ft=pooled.scale.altitude_ft,
        rows=pooled.rows(step_kt),
        speeds=speeds,
        airframes=(),
        measurements=len(known.rows),
        order=fit.order,
        phi=fit.phi,
        notes=known.flown.notes,
        handbook=compare_with_handbook(store, known.type.name, known.flap_setting, speeds),
        indicated=pooled.indicated(speeds),
        left_out=tuple(one for one in left_out if tag in one),
        airframe=tag,
    )


def _not_used(known: TypePoints) -> tuple[str, ...]:
    """Return in words what was rejected or is barred."""
    kind = known.quantity.key
    return (
        *count_reasons(((row.airframe, row.reason) for row in known.rejected), kind),
        *count_reasons(((row.airframe, row.barred) for row in known.barred), kind),
    )


def _facts(pooled: PooledClimbs) -> tuple[str, str]:
    """Return title and facts of the figure."""
    return (
        f"{pooled.kind.capitalize()}s of {pooled.pairing}, {pooled.power_state}",
        f"{pooled.type}, flaps {pooled.flap_setting}, {pooled.weight_kg:.0f} kg, standard air at "
        f"{pooled.altitude_ft:.0f} ft; "
        f"{pooled.airframe or counted(len(pooled.airframes), 'airframe')}, "
        f"{counted(pooled.measurements, 'measurement')}",
    )


def _between_pairings(known: TypePoints) -> tuple[str, ...]:
    """Return in words whether engine and propeller matter, by the fit of a port's pairings."""
    count = len(known.groups)
    if count < 2:
        return ()
    fit, _ = once(
        fit_checked, known.points, known.order_of(known.points)
    )  # not chosen for its size
    chance = float(pool_pairings(fit, np.zeros(count, dtype=np.int64)).alike[0])
    if np.isnan(chance):
        return ()
    differ = "differ" if chance < FAMILY_LEVEL else "do not show a difference"
    return (
        f"the {count} pairings flown {differ}: differences this large arise by chance in "
        f"{percent(chance)} of cases",
    )


def _airframe_rate(one: AirframeVerdict) -> AirframeRate:
    return AirframeRate(
        airframe=one.airframe,
        measurements=one.points,
        departure_ftmin=one.largest_departure,
        at_cas_kt=one.at_speed_kt,
        p_value=one.p_value,
        adjusted_p_value=one.adjusted_p_value,
        verdict=one.verdict,
    )
