"""Handbook speeds carried across to the port that is fitted.

A speed printed as IAS becomes CAS by the handbook's own table, and the IAS that
the fitted port shows at that CAS is solved for, not subtracted.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.errors import DataError
from fleetcal.services.curves.pooled_curve import CurveRequest
from fleetcal.services.handbook.compare_handbook import port_for
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.handbook_table import HandbookTable, choose_handbook, is_limit
from fleetcal.store import Store

LIMIT_CAUTION: Final = (
    "Limits (flap limit, manoeuvring, never exceed) are shown as information only: the marking "
    "and the manual hold. Only the holder of the design data and the authority may change a "
    "marking or a limit."
)


@dataclass(frozen=True)
class CarriedSpeed:
    """One handbook speed on the fitted port, in knots.

    `low_kt` and `high_kt` are the 95 % band of the airspeed for the group's mean,
    `next_...` for one more aircraft of the group. Empty with the reason in `note`
    where it cannot be carried.
    """

    speed: str
    handbook_ias_kt: float
    cas_kt: float | None
    ias_kt: float | None
    low_kt: float | None
    high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    change_kt: float | None
    limit: bool
    note: str


@dataclass(frozen=True)
class CarriedSpeeds:
    """Handbook speeds on the fitted port.

    Attributes
    ----------
    type, group, flap_setting : str
    handbook, handbook_static_source : str
    weight_kg : float
    speeds : tuple of CarriedSpeed
        By the handbook's IAS.
    limit_caution : str
        Empty if no speed is a limit.
    """

    type: str
    group: str
    flap_setting: str
    handbook: str
    handbook_static_source: str
    weight_kg: float
    speeds: tuple[CarriedSpeed, ...]
    limit_caution: str


def carry_speeds(store: Store, request: CurveRequest, handbook: str | None = None) -> CarriedSpeeds:
    """Carry the speeds of a handbook across to the port that a group carries.

    Parameters
    ----------
    store : Store
    request : CurveRequest
    handbook : str, optional

    Returns
    -------
    CarriedSpeeds

    Raises
    ------
    FitError
        If CAS does not rise with IAS over the speeds flown with the fitted port.
    DataError
        If the handbook's table does not rise, or names no speeds.
    """
    table = choose_handbook(store, request.type, request.flap_setting, handbook)
    return carry_to_port(table, port_for(store, request, table))


def carry_to_port(table: HandbookTable, port: FittedPort) -> CarriedSpeeds:
    """Carry the speeds of a handbook's table across to a fitted port.

    Parameters
    ----------
    table : HandbookTable
    port : FittedPort

    Returns
    -------
    CarriedSpeeds

    Raises
    ------
    FleetcalError
        As `carry_speeds`.
    """
    book = table.book
    if not book.speeds:
        raise DataError(
            f"handbook table {table} names no speeds",
            "enter them with 'handbook enter --speeds FILE'",
        )
    _require_rising(table)
    named = sorted(book.speeds, key=lambda one: (one[1], one[0]))
    ias = np.array([value for _, value in named])
    cas = table.cas_kt(ias)
    solved = port.solve(cas)
    columns = (
        solved.mean_low_kt,
        solved.mean_high_kt,
        solved.next_low_kt,
        solved.next_high_kt,
    )
    speeds = tuple(
        _carried(name, value, (float(cas[i]), float(solved.ias_kt[i])), [c[i] for c in columns])
        for i, (name, value) in enumerate(named)
    )
    return CarriedSpeeds(
        book.type,
        str(port.fitted.name),
        book.flap_setting,
        book.name,
        book.static_source,
        port.fitted.weight_kg,
        speeds,
        LIMIT_CAUTION if any(one.limit for one in speeds) else "",
    )


def _require_rising(table: HandbookTable) -> None:
    cas = [value for _, value in table.book.rows]
    if any(low >= high for low, high in itertools.pairwise(cas)):
        raise DataError(
            f"handbook table {table}: CAS does not rise with IAS",
            "compare its lines with the printed page",
        )


def _carried(
    name: str, handbook_ias: float, found: tuple[float, float], edges: list[float]
) -> CarriedSpeed:
    cas, ias = found
    if np.isnan(ias):  # bands of a speed that is not told would be read as one
        edges = [float("nan")] * len(edges)
    note = ""
    if np.isnan(cas):
        note = "off the handbook's table"
    elif np.isnan(ias):
        note = "shown at no airspeed that enough airframes flew with the fitted port"
    elif np.isnan(edges).any():
        note = "its band reaches too far beyond the speeds flown"
    low, high, next_low, next_high, change = (_known(v) for v in (*edges, ias - handbook_ias))
    return CarriedSpeed(
        name,
        handbook_ias,
        _known(cas),
        _known(ias),
        low,
        high,
        next_low,
        next_high,
        change,
        is_limit(name),
        note,
    )


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
