"""Engine and propeller pairings of one port: each by itself, and shrunk towards the port."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.errors import DataError, FitError
from fleetcal.fleet.enough_points import supported_order
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.port_pooling import PairingCurves, pool_pairings
from fleetcal.services.curves.groups import find_group, gather_group
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.pool_members import AirframeLeftOut, Pool, checked_choice, pool_of
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.speed_grid import (
    bounded_correction_kt,
    lift_at,
    reached_by,
    speed_correction_kt,
    speeds_flown,
)
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import Store, load_description
from fleetcal.wording import counted, percent

#: Chance below which pairings are said to differ.
LEVEL: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class PairingRow:
    """One pairing at one airspeed: correction CAS - IAS in knots with 95 % bands of the mean.

    `own_...` is what its own airframes say; `shrunk_...` also uses the other
    pairings of the port, as much as pairings are seen to be alike.
    """

    pairing: str
    ias_kt: float
    airframes: int
    own_kt: float
    own_low_kt: float
    own_high_kt: float
    shrunk_kt: float
    shrunk_low_kt: float
    shrunk_high_kt: float


@dataclass(frozen=True, kw_only=True)
class Pairings:
    """All pairings of one port.

    Attributes:
        between_kt, between_high_kt: Standard deviation of the level between pairings at twice the
            scaling speed, its mean and the value it is below with a chance of 95 %.
        chance: Of pairings as different with one curve for the port; None for one pairing.
        without: Airframes that are not in the pool.
    """

    type: str
    static_source: str
    flap_setting: str
    weight_kg: float
    rows: tuple[PairingRow, ...]
    between_kt: float
    between_high_kt: float
    chance: float | None
    verdict: str
    model: str
    left_out: tuple[str, ...]
    without: tuple[AirframeLeftOut, ...] = ()


def compare_pairings(
    store: Store, port: str, request: PoolRequest, step_kt: float = 10.0
) -> Pairings:
    """Tell the curve of every pairing flown with a port.

    Args:
        port: Name of a static source.
        request: Of position errors.

    Raises:
        UnknownNameError: If type or port are not in the store.
        DataError: If the name has a pairing in it, or the step makes no table.
        FitError: If no pairing of the port has enough airframes.
    """
    if not 0.5 <= step_kt <= 100.0:
        raise DataError(f"a step of {step_kt:g} kt makes no table", "give 0.5 to 100 kt")
    pool, source = _pairings_of(store, port, request)
    known = pool.known
    ports = sorted({group.static_source for group in known.groups})
    fit, _ = fit_checked(known.points, supported_order(known.points))  # none chosen for its size
    curves = pool_pairings(fit, np.array([ports.index(g.static_source) for g in known.groups]))
    mine = [i for i, group in enumerate(known.groups) if group.static_source == source]
    chance = float(curves.alike[ports.index(source)])
    typical, high = _between_kt(known, curves)
    return Pairings(
        type=known.type.name,
        static_source=source,
        flap_setting=known.flap_setting,
        weight_kg=known.weight_kg,
        rows=tuple(row for i in mine for row in _rows(known, fit, curves, i, step_kt)),
        between_kt=typical,
        between_high_kt=high,
        chance=None if np.isnan(chance) else chance,
        verdict=_verdict(len(mine), chance, typical, high),
        model=_model_words(known, fit.order, len(ports)),
        left_out=tuple(f"{group}." for group in known.too_small if group.startswith(source)),
        without=tuple(one for i in mine for one in pool.left_out_of(known.groups[i])),
    )


def _model_words(known: TypePoints, order: int, ports: int) -> str:
    return (
        f"kappa of order {order} in (Vs/Viw)^2 for each port, level and tilt of each pairing "
        f"random about it, level and tilt of each airframe random about its pairing "
        f"({counted(len(known.groups), 'pairing')} of {counted(ports, 'port')}, "
        f"{counted(len(known.members), 'airframe')}); "
        "averaged over both spreads, weighted by their likelihood and a prior: Jeffreys-type "
        "between airframes, half-Cauchy between pairings"
    )


def _pairings_of(store: Store, port: str, request: PoolRequest) -> tuple[Pool, str]:
    """Return the pool of a type by pairing, and the name of the port."""
    known, _ = gather_group(store, request, None)
    with store.lookup() as reader:
        named = find_group(load_description(reader), known.type, port)
    if named.engine is not None:
        raise DataError(f"{port!r} names one pairing", "name the static source alone")
    if all(group.static_source != named.static_source for group in known.groups):
        raise FitError(
            f"{named}: no pairing with {FEWEST_AIRCRAFT} airframes and flaps {known.flap_setting}",
            "reduce flights of more airframes, or ask for the port's curve over all pairings",
        )
    chosen = checked_choice(store, request.choice, known)
    return pool_of(known, judge_known(known)[1], chosen), named.static_source


def _rows(
    known: TypePoints, fit: PooledFit, curves: PairingCurves, group: int, step_kt: float
) -> list[PairingRow]:
    weight, members = known.type.reference_weight_kg, known.rows_of(group)
    speeds_kt = speeds_flown(members, weight, step_kt)
    reached = [(v, reached_by(members, v, weight)) for v in speeds_kt]
    speeds = np.array([v for v, airframes in reached if airframes >= FEWEST_AIRCRAFT])
    counts = [airframes for _, airframes in reached if airframes >= FEWEST_AIRCRAFT]
    if not len(speeds):
        return []
    lift = lift_at(known.type, speeds, weight)
    bands = {"own": fit.mean_band(group, lift), "shrunk": curves.band(group, lift)}
    columns = {
        f"{whose}_{edge}kt": bounded_correction_kt(speeds, kappa)
        for whose, band in bands.items()
        for edge, kappa in (("", band.centre), ("low_", band.low), ("high_", band.high))
    }
    name = f"{known.groups[group].engine} / {known.groups[group].propeller}"
    return [
        PairingRow(
            pairing=name,
            ias_kt=float(speed),
            airframes=counts[i],
            **{field: float(column[i]) for field, column in columns.items()},
        )
        for i, speed in enumerate(speeds)
    ]


def _between_kt(known: TypePoints, curves: PairingCurves) -> tuple[float, float]:
    """Return mean and 95 % limit of the level's standard deviation between pairings."""
    speed = np.full(2, 2.0 * known.type.scaling_speed_kt)
    level = curves.between[:, 0]
    order = np.argsort(level)
    place = int(np.searchsorted(np.cumsum(curves.weight[order]), 0.95))
    high = level[order[min(place, len(order) - 1)]]
    values = np.minimum([float(curves.weight @ level), float(high)], 0.99)
    typical_kt, high_kt = np.abs(speed_correction_kt(speed, -values))
    return float(typical_kt), float(high_kt)


def _verdict(pairings: int, chance: float, typical_kt: float, high_kt: float) -> str:
    if pairings < 2:
        return "only one pairing of this port has enough airframes; there is nothing to compare"
    spread = f"their level differs by about {typical_kt:.1f} kt (below {high_kt:.1f} kt surely)"
    if chance < LEVEL:
        return (
            "the pairings of this port differ: differences this large would arise by chance in "
            f"{percent(chance)} of cases; {spread}"
        )
    return (
        "no difference between the pairings of this port shows: differences of this size arise "
        f"by chance in {percent(chance)} of cases; {spread}. The port's curve over all "
        "pairings serves as well"
    )
