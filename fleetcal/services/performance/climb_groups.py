"""Stored climbs or glides as the points of a pooled fit, grouped by pairing.

A climb does not ask which port the aircraft carries: the group is the engine
and the propeller at one power state. The port only matters for turning
indicated into calibrated airspeed, which the pooled curve of the port does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array, pressure_from_altitude, standard_temperature
from fleetcal.airdata.performance.path_coefficient import at_reference_weight, path_coefficient
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.reading import true_airspeed_for
from fleetcal.errors import DataError, FitError
from fleetcal.fleet.basis import lift_from_airspeed
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.groups import find_type
from fleetcal.services.curves.pooled_curve import CurveRequest, fit_group
from fleetcal.services.curves.speed_grid import speed_correction_kt
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.store import ClimbRow, Store, TypeDescription, load_description, select_climbs
from fleetcal.units import M_PER_FT, MPS_PER_FTMIN, MPS_PER_KT, ZERO_DEGC_K, to_si

#: Relative standard uncertainty of a thrust power that was estimated: common practice, no
#: published source.
U_THRUST: Final = 0.1


@dataclass(frozen=True)
class ClimbRequest:
    """Which climbs or glides are asked for.

    Attributes
    ----------
    kind : str
        ``climb`` or ``glide``.
    pairing : str or None
        ``engine / propeller``; the only one when None.
    power_state : str or None
        The only one when None.
    type : str or None
    flap_setting : str
    step_kt : float
    """

    kind: str
    pairing: str | None = None
    power_state: str | None = None
    type: str | None = None
    flap_setting: str = "up"
    step_kt: float = 5.0


@dataclass(frozen=True)
class ClimbPoints:
    """Accepted climbs or glides of a type at one power state.

    Attributes
    ----------
    type : TypeDescription
    power_state : str
    pairings : tuple of str
        One for each group of `points`.
    airframes : tuple of str
        One for each aircraft of `points`.
    points : FleetPoints
        `kappa` holds the path coefficient.
    rows : tuple of ClimbRow
        In the order of `points`.
    cas_kt : ndarray, shape (points,)
    ports : dict of str to FittedPort or None
        By static source; None where no curve could be fitted and CAS is taken as IAS.
    notes : tuple of str
    """

    type: TypeDescription
    power_state: str
    pairings: tuple[str, ...]
    airframes: tuple[str, ...]
    points: FleetPoints
    rows: tuple[ClimbRow, ...]
    cas_kt: Array
    ports: dict[str, FittedPort | None]
    notes: tuple[str, ...]


def gather_climbs(store: Store, request: ClimbRequest) -> ClimbPoints:
    """Read the accepted climbs or glides of a type and sort them by pairing.

    Parameters
    ----------
    store : Store
    request : ClimbRequest

    Returns
    -------
    ClimbPoints

    Raises
    ------
    UnknownNameError
        If the type is not in the store.
    DataError
        If several power states are stored and none was named.
    FitError
        If no pairing was flown by three airframes.
    """
    with store.reading() as session:
        kind = find_type(load_description(session), request.type)
        rows = select_climbs(session, kind.name, request.kind)
    rows = [r for r in rows if r.flap_setting == request.flap_setting]
    power_state = _power_state(rows, request)
    rows = [r for r in rows if r.power_state == power_state]
    barred = sum(r.accepted and bool(r.barred) for r in rows)
    refused = sum(not r.accepted for r in rows)
    rows = [r for r in rows if r.accepted and not r.barred]
    fliers: dict[str, set[str]] = {}
    for row in rows:
        fliers.setdefault(pairing_of(row), set()).add(row.airframe)
    large = sorted(p for p, tags in fliers.items() if len(tags) >= FEWEST_AIRCRAFT)
    if not large:
        most = max(map(len, fliers.values()), default=0)
        raise FitError(
            f"no pairing has accepted {request.kind}s of {FEWEST_AIRCRAFT} airframes with "
            f"{power_state}; the largest has {most}",
            "reduce flights of more airframes",
        )
    rows = [r for r in rows if pairing_of(r) in large]
    notes = [
        f"{p}: flown by {len(t)} airframes only"
        for p, t in sorted(fliers.items())
        if p not in large
    ]
    told = ((refused, "not accepted"), (barred, "barred by failed leak checks"))
    notes += [f"{count} {why}" for count, why in told if count]
    ports, missing = _ports(store, kind, {r.static_source for r in rows})
    rows, cas, large, lost = _with_cas(ports, rows, large, request.kind)
    airframes, points = _fleet_points(kind, rows, cas, large)
    said = (*notes, *lost, *missing)
    return ClimbPoints(
        kind, power_state, tuple(large), airframes, points, tuple(rows), cas, ports, said
    )


def pairing_of(row: ClimbRow) -> str:
    """Return the name of a row's group."""
    return f"{row.engine} / {row.propeller}"


def _power_state(rows: Sequence[ClimbRow], request: ClimbRequest) -> str:
    states = sorted({row.power_state for row in rows})
    if request.power_state is None and len(states) > 1:
        raise DataError(
            f"{request.kind}s are stored at several power states: {', '.join(states)}",
            "name one with --power-state",
        )
    if not states or (request.power_state is not None and request.power_state not in states):
        wanted = f" at {request.power_state!r}" if request.power_state else ""
        raise FitError(
            f"no {request.kind}{wanted} with flaps {request.flap_setting} is in the store",
            f"known: {', '.join(states)}"
            if states
            else "reduce some with 'fleetcal climbs reduce'",
        )
    return request.power_state or states[0]


def _ports(
    store: Store, kind: TypeDescription, sources: set[str]
) -> tuple[dict[str, FittedPort | None], list[str]]:
    """Return the fitted curve of each port, and what has none."""
    ports: dict[str, FittedPort | None] = {}
    missing = []
    for source in sorted(sources):
        try:
            ports[source] = FittedPort(fit_group(store, CurveRequest(source, kind.name)))
        except FitError as error:
            ports[source] = None
            missing.append(f"CAS is taken as IAS for {source}: {error.message}")
    return ports, missing


def _cas_kt(port: FittedPort | None, row: ClimbRow) -> float:
    """Return CAS by the port's curve at the lift flown; NaN where nobody flew the curve."""
    if port is None:
        return row.vic_kt
    at_weight = row.vic_kt * float(np.sqrt(port.fitted.weight_kg / row.weight_kg))
    if not port.flown(at_weight):
        return float("nan")
    kappa = port.kappa(np.array([at_weight]))
    return row.vic_kt + float(speed_correction_kt(np.array([row.vic_kt]), kappa)[0])


def _with_cas(
    ports: dict[str, FittedPort | None],
    rows: Sequence[ClimbRow],
    pairings: Sequence[str],
    kind: str,
) -> tuple[list[ClimbRow], Array, list[str], list[str]]:
    """Return the rows that have a CAS, it, the pairings that are still large, and what is lost."""
    known = [(row, _cas_kt(ports[row.static_source], row)) for row in rows]
    known = [(row, cas) for row, cas in known if np.isfinite(cas)]
    off = len(rows) - len(known)
    lost = [f"{off} left out: at their speed the curve of the port was not flown"] if off else []
    large = [p for p in pairings if _enough(row for row, _ in known if pairing_of(row) == p)]
    lost += [f"{p}: too few {kind}s with a known CAS" for p in pairings if p not in large]
    if not large:
        raise FitError(
            f"too few {kind}s at speeds where the curve of the port is known",
            "reduce position-error flights at the speeds of the climbs and glides",
        )
    known = [(row, cas) for row, cas in known if pairing_of(row) in large]
    return [row for row, _ in known], np.array([cas for _, cas in known]), large, lost


def _enough(rows: Iterable[ClimbRow]) -> bool:
    """Tell whether enough airframes flew."""
    return len({row.airframe for row in rows}) >= FEWEST_AIRCRAFT


def standard_tas_mps(cas_kt: Array, altitude_ft: Array | float) -> Array:
    """Return the true airspeed of a CAS in standard air.

    Parameters
    ----------
    cas_kt : ndarray, shape (n,)
    altitude_ft : ndarray or float
        Pressure altitude.

    Returns
    -------
    ndarray, shape (n,)
        m/s.
    """
    altitude = np.broadcast_to(np.asarray(to_si(np.asarray(altitude_ft), "ft")), cas_kt.shape)
    none = np.zeros(cas_kt.shape)
    impact = impact_pressure_from_airspeed(cas_kt * MPS_PER_KT)
    static = pressure_from_altitude(altitude)
    return true_airspeed_for(static, impact, standard_temperature(altitude), none, none)[0]


def _fleet_points(
    kind: TypeDescription, rows: Sequence[ClimbRow], cas: Array, groups: Sequence[str]
) -> tuple[tuple[str, ...], FleetPoints]:
    def column(name: str) -> Array:
        return np.array([getattr(row, name) for row in rows], dtype=np.float64)

    ratio = column("weight_kg") / kind.reference_weight_kg
    lift = lift_from_airspeed(cas, kind.scaling_speed_kt, ratio, 1.0)
    tas = standard_tas_mps(cas, column("pressure_altitude_ft"))
    thrust = column("thrust_rate_ftmin") * MPS_PER_FTMIN
    y = path_coefficient(column("rate_ftmin") * MPS_PER_FTMIN, tas, lift)
    scale = lift / tas * MPS_PER_FTMIN
    members = sorted({(pairing_of(row), row.airframe) for row in rows})
    number = {member: i for i, member in enumerate(members)}
    aircraft = np.array([number[pairing_of(row), row.airframe] for row in rows], dtype=np.int64)
    points = FleetPoints(
        lift,
        at_reference_weight(y, thrust, tas, lift, ratio),
        scale * column("u_own_ftmin"),
        np.column_stack(
            [
                scale * column("u_shared_ftmin"),
                U_THRUST * path_coefficient(thrust * _thrust_leverage(rows, ratio), tas, lift),
            ]
        ),
        np.array([row.sortie_id for row in rows], dtype=np.int64),
        aircraft,
        np.array([groups.index(pairing) for pairing, _ in members], dtype=np.int64),
    )
    return tuple(airframe for _, airframe in members), points


def _thrust_leverage(rows: Sequence[ClimbRow], weight_ratio: Array) -> Array:
    """Return which share of an error of the thrust the corrections pass on to the rate.

    Temperature passes on 1 - Tstd/T (for power that goes with the root of the
    temperature, the larger case), weight (W/Wref)^1.5 - 1.
    """
    altitude = np.array([row.pressure_altitude_ft for row in rows]) * M_PER_FT
    warm = np.array([row.oat_degc for row in rows]) + ZERO_DEGC_K
    return np.asarray(1.0 - standard_temperature(altitude) / warm + weight_ratio**1.5 - 1.0)
