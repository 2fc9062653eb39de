"""The limits on the port that one airframe carries, its own points included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.foreseen_own import TWO_SIDED_95
from fleetcal.fleet.next_points import own_curve
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.speed_grid import lift_at, speed_correction_kt
from fleetcal.services.handbook.carried_limits import CarriedLimit, limits_on_port, rounded_down
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.store import AirframeDescription, HandbookDescription

#: How far below a limit its own reading is looked for, as a part of it.
_FAR: Final = 0.7
_STEP_KT: Final = 0.1


def limits_of_airframe(
    handbooks: Sequence[HandbookDescription],
    airframe: AirframeDescription,
    port: FittedPort,
    place: int | None,
) -> tuple[CarriedLimit, ...]:
    """Return the limits of an airframe's type on the port that it carries last.

    Args:
        port: With the curve that stands for the airframe.
        place: Number of the airframe in it; None without points.

    Returns:
        Lowered where the airframe's own points show a limit at a lower airspeed than the group
        does, and where its port is not that of the curve.
    """
    fitted, limits = port.fitted, limits_on_port(port, handbooks)
    carried = carried_port(airframe)
    if carried != fitted.name.static_source:
        return tuple(_of_no_curve(limit, carried) for limit in limits)
    return limits if place is None else _by_own_points(limits, fitted, place)


def carried_port(airframe: AirframeDescription) -> str:
    """Return the static source of an airframe's last fit."""
    return max(airframe.fits, key=lambda fit: fit.from_date).static_source


def _of_no_curve(limit: CarriedLimit, port: str) -> CarriedLimit:
    """Return a limit for a port without a curve: no higher than anything known of it."""
    known = [limit.usable_kt, limit.cas_kt or limit.usable_kt, limit.printed_kt]
    return replace(
        limit,
        usable_kt=rounded_down(min(known)),
        ias_kt=None,
        low_kt=None,
        high_kt=None,
        because=f"{limit.because}. {port} has no curve, so the lowest figure known for it holds",
    )


def _by_own_points(
    limits: Sequence[CarriedLimit], fitted: FittedGroup, place: int
) -> tuple[CarriedLimit, ...]:
    try:
        own = own_curve(fitted.pooled, fitted.number, place)
    except FitError:
        return tuple(limits)
    tag = fitted.known.members[place].airframe
    common = fitted.pooled.common_shift(fitted.number)
    sure = own[0], own[1] + common.T @ common
    return tuple(_lowered(limit, tag, _own_edge(limit, fitted, sure)) for limit in limits)


def _own_edge(
    limit: CarriedLimit, fitted: FittedGroup, own: tuple[np.ndarray, np.ndarray]
) -> float:
    """Return the low edge of the IAS at which the airframe's own curve shows a limit."""
    if limit.cas_kt is None:
        return limit.usable_kt
    ias = np.arange(_FAR * limit.usable_kt, limit.usable_kt + _STEP_KT, _STEP_KT)
    rows = curve_basis(lift_at(fitted.known.type, ias, fitted.weight_kg), fitted.pooled.order)
    deviation = np.sqrt(np.einsum("ij,jk,ik->i", rows, own[1], rows))
    highest = rows @ own[0] + TWO_SIDED_95 * deviation
    beyond = ias + speed_correction_kt(ias, highest) > limit.cas_kt
    return float(ias[np.argmax(beyond)]) if beyond.any() else limit.usable_kt


def _lowered(limit: CarriedLimit, tag: str, edge_kt: float) -> CarriedLimit:
    if edge_kt >= limit.usable_kt - _STEP_KT:
        return limit
    return replace(
        limit,
        usable_kt=rounded_down(edge_kt),
        because=f"{limit.because}. {tag}'s own points put it lower, at {edge_kt:.1f} kt IAS, and "
        "the lower holds",
    )
