"""Add many flights that were read from one file, by column."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.airframe_lookup import find_airframe, fit_in_force
from fleetcal.store.column_rows import add_columns
from fleetcal.store.history_recording import note_added
from fleetcal.store.models import (
    AircraftType,
    Airframe,
    CalibrationPoint,
    EquipmentFit,
    Sortie,
    SourceFile,
    UncertaintyTerm,
)
from fleetcal.store.new_rows import NewSortie
from fleetcal.store.undescribed import weight_is_supposed
from fleetcal.version import __version__

_AT_ONCE = 400  # databases limit the length of a list in a query


class BulkFlights:
    """Adds flights of one file in a writing transaction.

    Args:
        source: Where they were read from.
        now: Aware time of adding; the clock's when left out.

    Attributes:
        types: Tag of every airframe -> name and reference weight, kg, of its type.
    """

    def __init__(self, session: Session, source: SourceFile, now: datetime | None = None) -> None:
        self._session, self._source = session, source
        self._moment = now or datetime.now(UTC)
        self._fits = _fits_by_tag(session)
        self.types = _types_by_tag(session)
        self._flown = set(session.scalars(select(Sortie.airframe_id).distinct()))

    def fit(self, tag: str, day: date) -> tuple[int, int]:
        """Return the numbers of an airframe and of what it carried on a day.

        Raises:
            UnknownNameError: If there is no such airframe.
            DataError: If nothing was fitted to it on that day.
        """
        airframe, fits = self._fits.get(tag, (0, ()))
        begun = [number for first, number in fits if first <= day]
        if begun:
            return airframe, begun[-1]
        # The way that says what is wrong.
        return airframe, fit_in_force(find_airframe(self._session, tag), day).id

    def add_sorties(self, sorties: Sequence[NewSortie]) -> Sequence[int]:
        """Add sorties and return their numbers; the history tells of each.

        Raises:
            FleetcalError: As `fit`, which may be asked first.
        """
        fits = [self.fit(sortie.airframe, sortie.flown_on) for sortie in sorties]
        numbers = add_columns(
            self._session,
            Sortie,
            len(sorties),
            {
                "airframe_id": [airframe for airframe, _ in fits],
                "equipment_fit_id": [number for _, number in fits],
                "source_file_id": self._source.id,
                "flown_on": [sortie.flown_on for sortie in sorties],
                "weight_kg": [sortie.weight_kg for sortie in sorties],
                "track_reference": [sortie.track_reference for sortie in sorties],
                "settings_json": [sortie.settings_json for sortie in sorties],
                "program_version": __version__,
                "note": [sortie.note for sortie in sorties],
                "added_at": self._moment,
            },
        )
        note_added(self._session, Sortie, numbers, [airframe for airframe, _ in fits])
        return numbers

    def add_points(self, count: int, columns: Mapping[str, Any]) -> Sequence[int]:
        """Add points of sorties and return their numbers; columns as in `add_columns`."""
        columns = {**columns, "decided_at": self._moment}
        return add_columns(self._session, CalibrationPoint, count, columns)

    def add_terms(self, count: int, columns: Mapping[str, Any]) -> None:
        """Add lines of budgets; columns as in `add_columns`."""
        add_columns(self._session, UncertaintyTerm, count, columns)

    def flown_before(self, keys: set[tuple[str, date]]) -> set[tuple[str, date]]:
        """Return the airframes and days of those given that had a flight before this file."""
        if not keys or not self._flown:
            return set()
        tags = sorted({tag for tag, _ in keys})
        found: set[tuple[str, date]] = set()
        for start in range(0, len(tags), _AT_ONCE):
            query = (
                select(Airframe.tag, Sortie.flown_on)
                .join(Airframe, Airframe.id == Sortie.airframe_id)
                .where(Airframe.tag.in_(tags[start : start + _AT_ONCE]))
                .where(Sortie.source_file_id != self._source.id)
            )
            found |= {(tag, day) for tag, day in self._session.execute(query)}
        return found & keys

    def points_there(self, tags: set[str]) -> dict[tuple[Any, ...], int]:
        """Return what airframes had before this file: numbers of points by what they say.

        Returns:
            By tag, day, flap setting, vic_kt, kappa and u_kappa.
        """
        known = sorted(t for t in tags if self._fits.get(t, (0, ()))[0] in self._flown)
        point = CalibrationPoint
        found: dict[tuple[Any, ...], int] = {}
        for start in range(0, len(known), _AT_ONCE):
            query = (
                select(
                    *(Airframe.tag, Sortie.flown_on, point.flap_setting),
                    *(point.vic_kt, point.kappa, point.u_kappa, point.id),
                )
                .join(Sortie, Sortie.id == point.sortie_id)
                .join(Airframe, Airframe.id == Sortie.airframe_id)
                .where(Airframe.tag.in_(known[start : start + _AT_ONCE]))
                .where(Sortie.source_file_id != self._source.id)
            )
            for row in self._session.execute(query):
                found[tuple(row)[:-1]] = row.id
        return found


def _types_by_tag(session: Session) -> dict[str, tuple[str, float]]:
    """Return name and reference weight of the type of each airframe, NaN where it is supposed."""
    query = select(Airframe.tag, AircraftType).join(Airframe.aircraft_type)
    return {
        tag: (
            kind.name,
            math.nan if weight_is_supposed(kind.note) else kind.reference_weight_kg,
        )
        for tag, kind in session.execute(query)
    }


def _fits_by_tag(session: Session) -> dict[str, tuple[int, list[tuple[date, int]]]]:
    """Return every airframe's number and what it carried from which day on."""
    query = (
        select(Airframe.tag, Airframe.id, EquipmentFit.from_date, EquipmentFit.id)
        .join(EquipmentFit, EquipmentFit.airframe_id == Airframe.id)
        .order_by(EquipmentFit.from_date)
    )
    found: dict[str, tuple[int, list[tuple[date, int]]]] = {}
    for tag, airframe, first, number in session.execute(query):
        found.setdefault(tag, (airframe, []))[1].append((first, number))
    return found
