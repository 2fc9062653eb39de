"""Move a flight that was reduced under a wrong airframe to the one that flew it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from fleetcal.store import (
    PointFilter,
    Store,
    Touching,
    bench_check_in_force,
    load_description,
    select_points,
    stored_flights,
)
from fleetcal.store.exchange.move_flight import move_flight as move

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

_INSTRUMENTS = ("airspeed", "altimeter")


@dataclass(frozen=True, kw_only=True)
class FlightMoved:
    """A flight that counts for another airframe now.

    Attributes:
        before, now: Tags.
        equipment: That it counts under now.
        warnings: What does not follow by itself.
    """

    file: str
    sortie_id: int
    flown_on: date
    before: str
    now: str
    equipment: str
    points: int
    warnings: tuple[str, ...]


def move_flight(store: Store, sortie_id: int, to: str) -> FlightMoved:
    """Move a flight with its legs, points, decisions, powers, climbs and kept log.

    Args:
        to: Tag of the airframe that flew it.

    Raises:
        UnknownNameError: If there is no such sortie or airframe.
        DataError: If that airframe has the flight already, had no equipment fitted on that day, or
            the flight came with points of many airframes.
    """
    return store.write(
        lambda session: _moved(session, sortie_id, to),
        Touching(airframes=(to,), sorties=(sortie_id,)),
    )


def _moved(session: Session, sortie_id: int, to: str) -> FlightMoved:
    file, moved = move(session, sortie_id, to)
    before, days = moved[0].airframe, [one.flown_on for one in moved]
    numbers = {one.sortie_id for one in moved}
    points = [
        row for row in select_points(session, PointFilter(airframe=to)) if row.sortie_id in numbers
    ]
    flights = [one for one in stored_flights(session) if one.sortie_id in numbers]
    has_check = any(
        bench_check_in_force(session, to, kind, day) for kind in _INSTRUMENTS for day in days
    )
    described = {one.tag: one for one in load_description(session).airframes}
    first = points[0] if points else None
    warnings = []
    old, new = described[before], described[to]
    if old.type != new.type:
        warnings.append(f"{to} is a {new.type}, and {before} a {old.type}: check the weight")
    display = (old.temperature_shows, old.recovery_factor)
    other = has_check or display != (new.temperature_shows, new.recovery_factor)
    benched = [one for one in flights if other or _was_benched(one.settings_json)]
    warnings += [
        f"{one.file}: bench checks or temperature display of {to} are not those that the points "
        f"were made with; "
        f"'fleetcal reduce {one.file} --again --sortie {one.sortie_id} --replace' makes them anew"
        for one in benched
    ]
    equipment = (
        "" if first is None else f"{first.static_source} / {first.engine} / {first.propeller}"
    )
    return FlightMoved(
        file=file,
        sortie_id=sortie_id,
        flown_on=days[0],
        before=before,
        now=to,
        equipment=equipment,
        points=len(points),
        warnings=tuple(warnings),
    )


def _was_benched(settings_json: str) -> bool:
    """Tell whether a bench check was laid on the readings."""
    try:
        bench = json.loads(settings_json).get("bench")
    except (ValueError, AttributeError):
        return False
    return isinstance(bench, dict) and any(bench.values())
