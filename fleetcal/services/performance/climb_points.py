"""Stored climbs and glides as the points that every pooled fit works on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array, pressure_from_altitude, standard_temperature
from fleetcal.airdata.performance.path_coefficient import (
    at_reference_weight,
    path_coefficient,
    rate_from_coefficient,
)
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.reading import true_airspeed_for
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.services.curves.quantity import Quantity
from fleetcal.store import ClimbRow, PointRow, TermRow, TypeDescription
from fleetcal.units import M_PER_FT, MPS_PER_FTMIN, MPS_PER_KT, ZERO_DEGC_K, to_si

#: Relative standard uncertainty of a thrust power that was estimated: common practice, no
#: published source.
U_THRUST: Final = 0.1
#: A departure below this everywhere is not called outside: common practice, no published source.
LEAST_FTMIN: Final = 50.0

_WORDS: Final = {"climb": ("climbs", "faster", "slower"), "glide": ("sinks", "slower", "faster")}


def climb_quantity(kind: str, type_: TypeDescription, altitude_ft: float) -> Quantity:
    """Return how climbs or glides are told: as rates in standard air.

    Parameters
    ----------
    kind : str
        ``climb`` or ``glide``.
    type_ : TypeDescription
        For the scaling speed.
    altitude_ft : float
        Pressure altitude that the rates are for.

    Returns
    -------
    Quantity
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

    Parameters
    ----------
    cas_kt : ndarray, any shape
    altitude_ft : ndarray or float
        Pressure altitude.

    Returns
    -------
    ndarray, same shape
        m/s.
    """
    cas = np.asarray(cas_kt, dtype=np.float64)
    altitude = np.broadcast_to(np.asarray(to_si(np.asarray(altitude_ft), "ft")), cas.shape)
    none = np.zeros(cas.shape)
    impact = impact_pressure_from_airspeed(cas * MPS_PER_KT)
    static = pressure_from_altitude(altitude)
    return true_airspeed_for(static, impact, standard_temperature(altitude), none, none)[0]


def climb_points(
    type_: TypeDescription, rows: Sequence[ClimbRow], cas_kt: Array
) -> tuple[PointRow, ...]:
    """Turn climbs or glides into points: the path coefficient takes the place of kappa.

    Parameters
    ----------
    type_ : TypeDescription
    rows : sequence of ClimbRow
    cas_kt : ndarray, shape (rows,)

    Returns
    -------
    tuple of PointRow
        At reference weight; `vic_kt` holds CAS, and what a climb does not give is
        NaN or None. Temperature and thrust power are shared by a sortie.
    """

    def column(name: str) -> Array:
        return np.array([getattr(row, name) for row in rows], dtype=np.float64)

    ratio = column("weight_kg") / type_.reference_weight_kg
    lift = lift_from_airspeed(cas_kt, type_.scaling_speed_kt, ratio, 1.0)
    tas = standard_tas_mps(cas_kt, column("pressure_altitude_ft"))
    thrust = column("thrust_rate_ftmin") * MPS_PER_FTMIN
    y = path_coefficient(column("rate_ftmin") * MPS_PER_FTMIN, tas, lift)
    y = at_reference_weight(y, thrust, tas, lift, ratio)
    scale = lift / tas * MPS_PER_FTMIN
    warm = scale * column("u_shared_ftmin")
    power = U_THRUST * path_coefficient(thrust * _thrust_leverage(rows, ratio), tas, lift)
    whole = np.sqrt((scale * column("u_own_ftmin")) ** 2 + warm**2 + power**2)
    return tuple(
        _point(row, float(cas_kt[i]), float(y[i]), float(whole[i]), float(warm[i]), float(power[i]))
        for i, row in enumerate(rows)
    )


def _point(
    row: ClimbRow, cas_kt: float, value: float, whole: float, warm: float, power: float
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
        weight_kg=row.weight_kg,
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
        terms=(
            TermRow("temperature", warm, True, "B", ""),
            TermRow("thrust power", power, True, "B", ""),
        ),
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
