"""Read what tells stored flights from each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Select, or_, select
from sqlalchemy.orm import Session

from fleetcal.records import Climb, Leg, names_of
from fleetcal.store import models
from fleetcal.store.climb_models import ClimbMeasurement
from fleetcal.store.models import Airframe, CalibrationPoint, Sortie, SourceFile
from fleetcal.store.same_flight import FlownFlight

_AT_ONCE = 400  # databases limit the length of a list in a query
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True, slots=True)
class PointFlown:
    """What tells a point."""

    technique: str
    duration_s: float | None
    flap_setting: str
    vic_kt: float
    pressure_altitude_ft: float
    dvpc_kt: float
    u_dvpc_kt: float


def flown_near(session: Session, airframe: str, day: date, not_from: str) -> list[FlownFlight]:
    """Return the stored flights that may be a flight: of its airframe, or about its day.

    Args:
        airframe: Tag.
        not_from: SHA-256 of the file it was read from, whose own flights are left out.

    Returns:
        In the order stored.
    """
    around = or_(Airframe.tag == airframe, Sortie.flown_on.between(day - _ONE_DAY, day + _ONE_DAY))
    return _flown(session, [around, SourceFile.sha256 != not_from])


def flown_on_days(session: Session, keys: Collection[tuple[str, date]]) -> list[FlownFlight]:
    """Return the stored flights of airframes on days, with their points alone.

    Args:
        keys: Tag and day.
    """
    tags = sorted({tag for tag, _ in keys})
    found: list[FlownFlight] = []
    for start in range(0, len(tags), _AT_ONCE):
        some = Airframe.tag.in_(tags[start : start + _AT_ONCE])
        query = select(Sortie.id, Airframe.tag, Sortie.flown_on).join(
            Airframe, Airframe.id == Sortie.airframe_id
        )
        days = [number for number, *key in session.execute(query.where(some)) if tuple(key) in keys]
        for first in range(0, len(days), _AT_ONCE):
            numbers = Sortie.id.in_(days[first : first + _AT_ONCE])
            found += _flown(session, [numbers], with_legs=False)
    return found


def _flown(
    session: Session, conditions: Sequence[ColumnElement[bool]], *, with_legs: bool = True
) -> list[FlownFlight]:
    def chosen(query: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
        joined = query.join(Airframe, Airframe.id == Sortie.airframe_id)
        return joined.join(SourceFile, SourceFile.id == Sortie.source_file_id).where(*conditions)

    def rows_of(model: Any, record: type[Any]) -> dict[int, list[Any]]:
        names = names_of(record) if record is not PointFlown else list(PointFlown.__slots__)
        columns = [getattr(model, name) for name in names]
        query = select(model.sortie_id, *columns).join(Sortie, Sortie.id == model.sortie_id)
        rows: dict[int, list[Any]] = defaultdict(list)
        for sortie_id, *values in session.execute(chosen(query).order_by(model.id)):
            rows[sortie_id].append(record(**dict(zip(names, values, strict=True))))
        return rows

    legs = rows_of(models.Leg, Leg) if with_legs else {}
    climbs = rows_of(ClimbMeasurement, Climb) if with_legs else {}
    points = rows_of(CalibrationPoint, PointFlown)
    columns = (Airframe.tag, Sortie.flown_on, Sortie.track_reference, SourceFile.name)
    query = select(Sortie.id, *columns).order_by(Sortie.id)
    return [
        FlownFlight(
            airframe=tag,
            flown_on=day,
            track_reference=north,
            legs=legs.get(number, ()),
            points=points.get(number, ()),
            climbs=climbs.get(number, ()),
            sortie_id=number,
            file=file,
        )
        for number, tag, day, north, file in session.execute(chosen(query))
    ]
