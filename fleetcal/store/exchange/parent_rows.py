"""Row numbers of what other rows refer to, looked up once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    EquipmentFit,
    Propeller,
    SourceFile,
    StaticSource,
)


class Parents:
    """Looks up row numbers by the names people use."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.kind = cache(lambda name: self._one(AircraftType, name=name))
        self.airframe = cache(lambda tag: self._one(Airframe, tag=tag))
        self.file = cache(lambda sha256: self._one(SourceFile, sha256=sha256))
        self._engine = cache(lambda name: self._one(AircraftEngine, name=name))
        self._propeller = cache(lambda name: self._one(Propeller, name=name))
        self._fits = cache(self._fits_of)

    def _one(self, model: Any, **names: object) -> int:
        row_id = self._session.scalar(select(model.id).filter_by(**names))
        if row_id is None:
            shown = ", ".join(str(value) for value in names.values())
            raise UnknownNameError(f"there is no {model.__tablename__} {shown} to refer to")
        return int(row_id)

    def source(self, kind: str, name: str) -> int:
        """Return the number of a type's static source."""
        return self._one(StaticSource, aircraft_type_id=self.kind(kind), name=name)

    def equipment(self, tag: str, content: Mapping[str, Any]) -> dict[str, Any]:
        """Return the values of a fit, with numbers in the place of names."""
        kind = self._session.scalar(
            select(AircraftType.name)
            .join(Airframe, Airframe.aircraft_type_id == AircraftType.id)
            .where(Airframe.tag == tag)
        )
        self._fits.cache_clear()
        return {
            "static_source_id": self.source(str(kind), content["static_source"]),
            "engine_id": self._engine(content["engine"]),
            "propeller_id": self._propeller(content["propeller"]),
            "pitot": content["pitot"],
            "note": content["note"],
        }

    def fit(self, tag: str, day: date) -> int:
        """Return the number of the fit in force on a day.

        Raises:
            DataError: If none is.
        """
        begun = [number for from_date, number in self._fits(tag) if from_date <= day]
        if not begun:
            raise DataError(
                f"airframe {tag}: a sortie of {day} was flown before its first fit",
                "the airframe's fits must begin before its first sortie",
            )
        return begun[-1]

    def _fits_of(self, tag: str) -> list[tuple[date, int]]:
        query = select(EquipmentFit.from_date, EquipmentFit.id).where(
            EquipmentFit.airframe_id == self.airframe(tag)
        )
        return sorted((day, number) for day, number in self._session.execute(query))
