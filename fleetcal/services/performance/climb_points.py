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
)
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.reading import true_airspeed_for
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.services.curves.pooled_point import OwnedTerm, PooledPoint
from fleetcal.store import StoredClimb, TypeDescription
from fleetcal.units import M_PER_FT, MPS_PER_FTMIN, MPS_PER_KT, ZERO_DEGC_K, to_si

#: Relative standard uncertainty of a thrust power that was estimated: common practice, no
#: published source.
U_THRUST: Final = 0.1


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


def flown_path(type_: TypeDescription, rows: Sequence[StoredClimb], cas_kt: Array) -> FlownPath:
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
    rows: Sequence[StoredClimb],
    cas_kt: Array,
    glides: Mapping[tuple[str, str], GlideSlope] | None = None,
) -> list[PooledPoint]:
    """Turn climbs or glides into points of a pool: y is the path coefficient.

    Args:
        cas_kt: Shape (rows,).
        glides: By engine and propeller, what their glides tell of drag; climbs without it are
            carried to reference weight by their thrust power.

    Returns:
        At reference weight: of a climb carried by glides at the airspeed flown, else at the lift
        coefficient flown, where `weight_kg` is the weight flown. The thermometer's error is the
        airframe's; thrust power and drag by glides err alike in all climbs of a pairing. A climb
        flown one way has the wind's change with height in its place.
    """
    if not rows:
        return []
    path = flown_path(type_, rows, cas_kt)
    y, drag, by_glides = _at_reference(rows, path, glides or {})
    scale = path.lift / path.tas_mps * MPS_PER_FTMIN
    own = scale * np.array([row.u_own_ftmin for row in rows])
    warm = scale * np.array([row.u_shared_ftmin for row in rows])
    leverage = _thrust_leverage(rows, np.where(by_glides, 1.0, path.ratio))
    power = U_THRUST * path_coefficient(path.thrust_mps * leverage, path.tas_mps, path.lift)
    together = np.sqrt(own**2 + warm**2 + power**2 + drag**2)
    weights = np.where(by_glides, type_.reference_weight_kg, [row.weight_kg for row in rows])
    x = lift_from_airspeed(cas_kt, type_.scaling_speed_kt, weights, type_.reference_weight_kg)
    return [
        PooledPoint.of(
            row,
            number=row.climb_id,
            speed_kt=float(cas_kt[i]),
            weight_kg=float(weights[i]),
            x=float(x[i]),
            y=float(y[i]),
            u_y=float(together[i]),
            terms=_terms(row, float(warm[i]), float(power[i]), float(drag[i])),
        )
        for i, row in enumerate(rows)
    ]


def _terms(row: StoredClimb, warm: float, power: float, drag: float) -> tuple[OwnedTerm, ...]:
    """Return the budget; thrust and drag are of one pairing, so its name is in theirs."""
    pairing = f"{row.engine} / {row.propeller}"
    return (
        OwnedTerm("temperature", "airframe" if row.ways > 1 else "sortie", warm),
        OwnedTerm(f"thrust power of {pairing}", "fleet", power),
        OwnedTerm(f"drag by glides of {pairing}", "fleet", drag),
    )


def _at_reference(
    rows: Sequence[StoredClimb], path: FlownPath, glides: Mapping[tuple[str, str], GlideSlope]
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


def _thrust_leverage(rows: Sequence[StoredClimb], weight_ratio: Array) -> Array:
    """Return which share of an error of the thrust the corrections pass on to the rate.

    Temperature passes on 1 - Tstd/T (for power that goes with the root of the
    temperature, the larger case), weight (W/Wref)^1.5 - 1.
    """
    altitude = np.array([row.pressure_altitude_ft for row in rows]) * M_PER_FT
    warm = np.array([row.oat_degc for row in rows]) + ZERO_DEGC_K
    return np.asarray(1.0 - standard_temperature(altitude) / warm + weight_ratio**1.5 - 1.0)
