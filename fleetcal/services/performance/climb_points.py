"""Stored climbs and glides as the points that every pooled fit works on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array, pressure_from_altitude, standard_temperature
from fleetcal.airdata.performance.glide_slope import GlideSlope
from fleetcal.airdata.performance.path_coefficient import (
    THRUST_POWER_GROWTH,
    at_reference_weight,
    path_coefficient,
    rate_from_coefficient,
)
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.reading import true_airspeed_for
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.records import BudgetTerm
from fleetcal.services.curves.quantity import Quantity
from fleetcal.store import ClimbRow, PointRow, TypeDescription
from fleetcal.units import M_PER_FT, MPS_PER_FTMIN, MPS_PER_KT, ZERO_DEGC_K, to_si

#: Relative standard uncertainty of a thrust power that was estimated: common practice, no
#: published source.
U_THRUST: Final = 0.1
#: A departure below this everywhere is not called outside: common practice, no published source.
LEAST_FTMIN: Final = 50.0

_WORDS: Final = {"climb": ("climbs", "faster", "slower"), "glide": ("sinks", "slower", "faster")}


def climb_quantity(kind: str, type_: TypeDescription, altitude_ft: float) -> Quantity:
    """Return how climbs or glides are told: as rates in standard air.

    Args:
        kind: ``climb`` or ``glide``.
        type_: For the scaling speed.
        altitude_ft: Pressure altitude that the rates are for.

    Returns:
        Rates in ft/min, positive upwards, at CAS and reference weight.
    """

    def rate_ftmin(cas_kt: Array, value: Array) -> Array:
        cas = np.asarray(cas_kt, dtype=np.float64)
        lift = (type_.scaling_speed_kt / cas) ** 2
        tas = standard_tas_mps(cas, altitude_ft)
        return rate_from_coefficient(value, tas, lift) / MPS_PER_FTMIN

    does, when_higher, when_lower = _WORDS[kind]
    return Quantity(
        name=f"the {kind}",
        unit="ft/min",
        decimals=0,
        smallest=LEAST_FTMIN,
        convert=rate_ftmin,
        higher=f"{does} {{size}} {when_higher} than the group",
        lower=f"{does} {{size}} {when_lower} than the group",
        the_same=f"{does} as the group",
        symbol="sine of the path times (Vs/V)^2",
        lift="(Vs/V)^2",
        speed="CAS",
        departure="its rate",
        heading=f"rate of the {kind} in standard air, ft/min, positive upwards",
        reject="fleetcal climbs reject",
    )


def standard_tas_mps(cas_kt: Array, altitude_ft: Array | float) -> Array:
    """Return the true airspeed of a CAS in standard air.

    Args:
        cas_kt: Any shape.
        altitude_ft: Pressure altitude.

    Returns:
        Same shape: m/s.
    """
    cas = np.asarray(cas_kt, dtype=np.float64)
    altitude = np.broadcast_to(np.asarray(to_si(np.asarray(altitude_ft), "ft")), cas.shape)
    none = np.zeros(cas.shape)
    impact = impact_pressure_from_airspeed(cas * MPS_PER_KT)
    static = pressure_from_altitude(altitude)
    return true_airspeed_for(static, impact, standard_temperature(altitude), none, none)[0]


@dataclass(frozen=True, kw_only=True)
class FlownPath:
    """Climbs or glides as flown, each field of shape (rows,)."""

    ratio: Array
    lift: Array
    tas_mps: Array
    coefficient: Array
    thrust_mps: Array


def flown_path(type_: TypeDescription, rows: Sequence[ClimbRow], cas_kt: Array) -> FlownPath:
    """Return weight over reference weight, lift, true airspeed, path coefficient and thrust.

    Args:
        cas_kt: Shape (rows,).
    """

    def column(name: str) -> Array:
        return np.array([getattr(row, name) for row in rows], dtype=np.float64)

    ratio = column("weight_kg") / type_.reference_weight_kg
    lift = lift_from_airspeed(cas_kt, type_.scaling_speed_kt, ratio, 1.0)
    tas = standard_tas_mps(cas_kt, column("pressure_altitude_ft"))
    return FlownPath(
        ratio=ratio,
        lift=lift,
        tas_mps=tas,
        coefficient=path_coefficient(column("rate_ftmin") * MPS_PER_FTMIN, tas, lift),
        thrust_mps=column("thrust_rate_ftmin") * MPS_PER_FTMIN,
    )


def climb_points(
    type_: TypeDescription,
    rows: Sequence[ClimbRow],
    cas_kt: Array,
    glides: Mapping[tuple[str, str], GlideSlope] | None = None,
) -> tuple[PointRow, ...]:
    """Turn climbs or glides into points: the path coefficient takes the place of kappa.

    Args:
        cas_kt: Shape (rows,).
        glides: By engine and propeller, what their glides tell of drag; climbs without it are
            carried to reference weight by their thrust power.

    Returns:
        At reference weight: of a climb carried by glides at the airspeed flown, else at the lift
        coefficient flown, where `weight_kg` is the weight flown. `vic_kt` holds CAS, and what a
        climb does not give is NaN or None. The thermometer's error is the airframe's; thrust power
        and drag by glides err alike in all climbs of a pairing. A climb flown one way has the
        wind's change with height in its place.
    """
    path = flown_path(type_, rows, cas_kt)
    y, drag, by_glides = _at_reference(rows, path, glides or {})
    scale = path.lift / path.tas_mps * MPS_PER_FTMIN
    own = scale * np.array([row.u_own_ftmin for row in rows])
    warm = scale * np.array([row.u_shared_ftmin for row in rows])
    leverage = _thrust_leverage(rows, np.where(by_glides, 1.0, path.ratio))
    power = U_THRUST * path_coefficient(path.thrust_mps * leverage, path.tas_mps, path.lift)
    whole = np.sqrt(own**2 + warm**2 + power**2 + drag**2)
    return tuple(
        _point(
            row,
            weight_kg=type_.reference_weight_kg if by_glides[i] else row.weight_kg,
            cas_kt=float(cas_kt[i]),
            value=float(y[i]),
            whole=float(whole[i]),
            terms=_terms(row, float(warm[i]), float(power[i]), float(drag[i])),
        )
        for i, row in enumerate(rows)
    )


def _terms(row: ClimbRow, warm: float, power: float, drag: float) -> tuple[BudgetTerm, ...]:
    """Return the budget; thrust and drag are of one pairing, so its name is in theirs."""
    pairing = f"{row.engine} / {row.propeller}"
    return (
        BudgetTerm(
            name="temperature",
            u_kappa=warm,
            owner="airframe" if row.ways > 1 else "sortie",
            kind="B",
            note="",
        ),
        BudgetTerm(
            name=f"thrust power of {pairing}", u_kappa=power, owner="fleet", kind="B", note=""
        ),
        BudgetTerm(
            name=f"drag by glides of {pairing}", u_kappa=drag, owner="fleet", kind="B", note=""
        ),
    )


def _at_reference(
    rows: Sequence[ClimbRow], path: FlownPath, glides: Mapping[tuple[str, str], GlideSlope]
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Return y at reference weight, what the glides' drag is unsure by, and where it was used."""
    growth = np.array([THRUST_POWER_GROWTH[row.propeller_pitch] for row in rows])
    y = at_reference_weight(
        path.coefficient,
        path.thrust_mps,
        path.tas_mps,
        lift=path.lift,
        weight_ratio=path.ratio,
        growth=growth,
    )
    drag = np.zeros(len(rows))
    by_glides = np.zeros(len(rows), dtype=bool)
    at_reference = path.lift / path.ratio
    for pairing, slope in glides.items():
        mine = np.array([(row.engine, row.propeller) == pairing for row in rows])
        mine &= slope.covers(path.lift) & slope.covers(at_reference)
        change, u = slope.change(path.lift, at_reference)
        y = np.where(mine, path.coefficient + change, y)
        drag = np.where(mine, u, drag)
        by_glides |= mine
    return y, drag, by_glides


def _point(
    row: ClimbRow,
    *,
    weight_kg: float,
    cas_kt: float,
    value: float,
    whole: float,
    terms: tuple[BudgetTerm, ...],
) -> PointRow:
    nothing = float("nan")
    return PointRow(
        point_id=row.climb_id,
        sortie_id=row.sortie_id,
        airframe=row.airframe,
        type=row.type,
        static_source=row.static_source,
        engine=row.engine,
        propeller=row.propeller,
        pitot="",
        flown_on=row.flown_on,
        source_name=row.source_name,
        track_reference="unknown",
        number=row.number,
        technique=row.kind,
        flap_setting=row.flap_setting,
        weight_kg=weight_kg,
        vic_kt=cas_kt,
        pressure_altitude_ft=row.pressure_altitude_ft,
        oat_degc=row.oat_degc,
        tas_kt=None,
        kappa=value,
        u_kappa=whole,
        dvpc_kt=nothing,
        u_dvpc_kt=nothing,
        dhpc_ft=nothing,
        u_dhpc_ft=nothing,
        wind_speed_kt=None,
        wind_from_deg=None,
        leg_count=None,
        largest_gap_deg=None,
        residual_kt=None,
        duration_s=None,
        degrees_of_freedom=None,
        accepted=row.accepted,
        reason=row.reason,
        decided_at=row.decided_at,
        terms=terms,
        barred=row.barred,
    )


def _thrust_leverage(rows: Sequence[ClimbRow], weight_ratio: Array) -> Array:
    """Return which share of an error of the thrust the corrections pass on to the rate.

    Temperature passes on 1 - Tstd/T (for power that goes with the root of the
    temperature, the larger case), weight (W/Wref)^1.5 - 1.
    """
    altitude = np.array([row.pressure_altitude_ft for row in rows]) * M_PER_FT
    warm = np.array([row.oat_degc for row in rows]) + ZERO_DEGC_K
    return np.asarray(1.0 - standard_temperature(altitude) / warm + weight_ratio**1.5 - 1.0)
