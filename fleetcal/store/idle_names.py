"""Which names for what was not described are left that nothing has any more.

They stay in the tables, so that a change can be taken back, and are shown nowhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    Base,
    EquipmentFit,
    HandbookCruise,
    HandbookCurve,
    Propeller,
    PublishedIssue,
    StaticSource,
)
from fleetcal.store.undescribed import is_undescribed

_USED_BY: Final[Mapping[type[Base], tuple[Any, ...]]] = {
    AircraftType: (
        Airframe.aircraft_type_id,
        HandbookCurve.aircraft_type_id,
        HandbookCruise.aircraft_type_id,
        PublishedIssue.aircraft_type_id,
    ),
    StaticSource: (EquipmentFit.static_source_id, HandbookCurve.static_source_id),
    AircraftEngine: (EquipmentFit.engine_id, HandbookCruise.engine_id),
    Propeller: (EquipmentFit.propeller_id, HandbookCruise.propeller_id),
}


def idle_names(session: Session) -> dict[type[Base], frozenset[int]]:
    """Return the ids of types, static sources, engines and propellers that nothing has.

    Only those whose name states that nothing was described.
    """
    return {model: _idle(session, model, columns) for model, columns in _USED_BY.items()}


def _idle(session: Session, model: Any, columns: tuple[Any, ...]) -> frozenset[int]:
    rows = session.execute(select(model.id, model.name))
    left = {number for number, name in rows if is_undescribed(name)}
    for column in columns:
        if left:
            left -= set(session.scalars(select(column).where(column.in_(left))))
    return frozenset(left)
