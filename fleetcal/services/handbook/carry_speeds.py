"""Handbook speeds carried across to the port that is fitted.

A speed printed as IAS becomes CAS by the handbook's own table, and the IAS that
the fitted port shows at that CAS is solved for, not subtracted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fleetcal.errors import DataError
from fleetcal.publish.cautions import LIMIT_CAUTION
from fleetcal.services.curves.pool_members import AirframeLeftOut
from fleetcal.services.curves.pooled_curve import CurveRequest
from fleetcal.services.handbook.carried_limits import CarriedLimit, limits_on_port
from fleetcal.services.handbook.compare_handbook import port_for
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.handbook_table import HandbookTable, choose_handbook
from fleetcal.services.handbook.limit_sources import OTHER, limit_kind
from fleetcal.store import Store, load_description


@dataclass(frozen=True, kw_only=True)
class CarriedSpeed:
    """One handbook speed on the fitted port, in knots.

    `low_kt` and `high_kt` are the 95 % band of the airspeed for the group's mean,
    `next_...` for one more aircraft of the group. Empty with the reason in `note`
    where it cannot be carried. `not_above_kt` is the IAS that a limit allows on this
    port: the low edge for another aircraft, lower where another source says so.
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
    not_above_kt: float | None
    note: str


@dataclass(frozen=True, kw_only=True)
class CarriedSpeeds:
    """Handbook speeds on the fitted port.

    Attributes:
        speeds: By the handbook's IAS.
        limit_caution: Empty if no speed is a limit.
        airframe: Whose own curve it is; None for a group.
        without: Airframes of the group that are not in the pool of the curve.
    """

    type: str
    group: str
    flap_setting: str
    handbook: str
    handbook_static_source: str
    weight_kg: float
    speeds: tuple[CarriedSpeed, ...]
    limit_caution: str
    without: tuple[AirframeLeftOut, ...] = ()

    @property
    def answer(self) -> str:
        """One speed carried across, in a sentence: the approach, if the handbook names one."""
        known = [one for one in self.speeds if one.ias_kt is not None]
        if not known:
            return f"No speed of the handbook can be carried to {self.group}."
        one = next((each for each in known if each.speed == "approach"), known[0])
        return (
            f"With {self.group} the handbook's {one.speed}, {one.handbook_ias_kt:.0f} kt, is "
            f"{one.ias_kt:.0f} kt on the indicator ({one.next_low_kt:.0f} to "
            f"{one.next_high_kt:.0f} kt on another aircraft of the group)."
        )

    airframe: str | None = None


def carry_speeds(store: Store, request: CurveRequest, handbook: str | None = None) -> CarriedSpeeds:
    """Carry the speeds of a handbook across to the port that a group carries.

    Raises:
        FitError: If CAS does not rise with IAS over the speeds flown with the fitted port.
        DataError: If the handbook's table does not rise, or names no speeds.
    """
    table = choose_handbook(store, request.type, request.flap_setting, handbook)
    port = port_for(store, request, table)
    with store.lookup() as reader:
        handbooks = load_description(reader).handbooks
    return carry_to_port(table, port, limits_on_port(port, handbooks))


def carry_to_port(
    table: HandbookTable, port: FittedPort, limits: Sequence[CarriedLimit]
) -> CarriedSpeeds:
    """Carry the speeds of a handbook's table across to a fitted port.

    Args:
        limits: Of the type on that port, at its weight.

    Raises:
        FleetcalError: As `carry_speeds`.
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
    found = (
        _carried(name, value, (float(cas[i]), float(solved.ias_kt[i])), [c[i] for c in columns])
        for i, (name, value) in enumerate(named)
    )
    speeds = tuple(_limited(one, limits) for one in found)
    return CarriedSpeeds(
        type=book.type,
        group=port.fitted.called,
        flap_setting=book.flap_setting,
        handbook=book.name,
        handbook_static_source=book.static_source,
        weight_kg=port.fitted.weight_kg,
        speeds=speeds,
        limit_caution=LIMIT_CAUTION if any(one.limit for one in speeds) else "",
        without=port.fitted.without,
        airframe=None if port.fitted.airframe is None else port.fitted.airframe.tag,
    )


def _require_rising(table: HandbookTable) -> None:
    if not table.rises:
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
        note = "the fitted port shows it outside the speeds that enough airframes flew"
    elif np.isnan(edges).any():
        note = "its band reaches too far beyond the speeds flown"
    low, high, next_low, next_high, change = (_known(v) for v in (*edges, ias - handbook_ias))
    return CarriedSpeed(
        speed=name,
        handbook_ias_kt=handbook_ias,
        cas_kt=_known(cas),
        ias_kt=_known(ias),
        low_kt=low,
        high_kt=high,
        next_low_kt=next_low,
        next_high_kt=next_high,
        change_kt=change,
        limit=bool(limit_kind(name)),
        not_above_kt=None,
        note=note,
    )


def _limited(carried: CarriedSpeed, limits: Sequence[CarriedLimit]) -> CarriedSpeed:
    """Return a speed with what its kind of limit allows, and why that is lower if it is."""
    kind = limit_kind(carried.speed)
    found = [one for one in limits if one.kind == kind]
    if kind == OTHER:
        found = [one for one in found if one.name.casefold() == carried.speed.casefold()]
    if not found:
        return carried
    notes = [carried.note, *found[0].against]
    if found[0].printed_kt != carried.handbook_ias_kt or found[0].low_kt is None:
        notes.append(found[0].reasons)
    note = ". ".join(note for note in notes if note)
    return replace(carried, not_above_kt=found[0].usable_kt, note=note)


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
