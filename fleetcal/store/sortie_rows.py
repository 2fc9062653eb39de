"""Put files, flights, legs and points into the store."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.records import BudgetTerm, Leg, Point, values_of
from fleetcal.store import models
from fleetcal.store.airframe_lookup import find_airframe, fit_in_force
from fleetcal.store.enter_climbs import is_bare
from fleetcal.store.explained import refusals_named
from fleetcal.store.models import CalibrationPoint, Sortie, SourceFile, UncertaintyTerm
from fleetcal.store.new_rows import NewSortie
from fleetcal.version import __version__


def find_source(session: Session, sha256: str) -> SourceFile | None:
    """Return the file with these bytes if it was read before.

    Args:
        sha256: 64 hexadecimal digits.
    """
    return session.scalar(select(SourceFile).where(SourceFile.sha256 == sha256.lower()))


def add_source(
    session: Session, sha256: str, name: str, kind: str, *, now: datetime | None = None
) -> SourceFile:
    """Add a file that was read.

    Args:
        session: Of a writing transaction.
        sha256: 64 hexadecimal digits.
        name: Without its folder.
        kind: ``log``, ``leg_sheet``, ``points``, ``measurement`` or ``bench``.
        now: Aware time of adding; the clock's when left out.

    Raises:
        DataError: If the same bytes were added before.
    """
    known = find_source(session, sha256)
    if known is not None:
        raise DataError(
            f"{name}: the same bytes are in the store already, as {known.name}",
            f"they were added on {known.added_at:%Y-%m-%d}; there is nothing to do",
        )
    source = SourceFile(
        sha256=sha256.lower(), name=name, kind=kind, added_at=now or datetime.now(UTC)
    )
    with refusals_named(f"file {name}"):
        session.add(source)
        session.flush()
    return source


def add_sortie(
    session: Session,
    source: SourceFile,
    sortie: NewSortie,
    legs: Iterable[Leg],
    points: Iterable[Point],
    *,
    now: datetime | None = None,
) -> Sortie:
    """Add a flight with all it gave, under the equipment that was fitted on its day.

    Args:
        session: Of a writing transaction.
        source: Where it was read from. A sortie of it that holds climbs and nothing else is filled.
        now: Aware time of adding; the clock's when left out.

    Raises:
        UnknownNameError: If there is no such airframe.
        DataError: If nothing was fitted to it on that day, or a value breaks a rule.
    """
    moment = now or datetime.now(UTC)
    airframe = find_airframe(session, sortie.airframe)
    fit = fit_in_force(airframe, sortie.flown_on)
    row = _begun_with_climbs(session, airframe.id, source, sortie)
    if row is None:
        row = Sortie(airframe_id=airframe.id, source_file_id=source.id)
        session.add(row)
    row.equipment_fit_id = fit.id
    row.flown_on = sortie.flown_on
    row.weight_kg = sortie.weight_kg
    row.track_reference = sortie.track_reference
    row.settings_json = sortie.settings_json
    row.program_version = __version__
    row.note = "; ".join(dict.fromkeys(note for note in (row.note, sortie.note) if note))
    row.added_at = moment
    with refusals_named(f"sortie of {sortie.airframe} on {sortie.flown_on}"):
        session.flush()
        session.add_all(models.Leg(sortie_id=row.id, **values_of(Leg, leg)) for leg in legs)
        _add_points(session, row.id, list(points), moment)
    return row


def _begun_with_climbs(
    session: Session, airframe_id: int, source: SourceFile, sortie: NewSortie
) -> Sortie | None:
    """Return the sortie of this file that holds climbs and nothing else, to be filled."""
    query = select(Sortie).filter_by(airframe_id=airframe_id, source_file_id=source.id)
    if session.scalars(query.limit(1)).one_or_none() is None:
        return None
    row = session.scalars(query.where(is_bare()).order_by(Sortie.id).limit(1)).one_or_none()
    if row is not None and row.flown_on != sortie.flown_on:
        raise DataError(
            f"{source.name}: its climbs and glides are stored as flown on {row.flown_on}, and this"
            f" is of {sortie.flown_on}",
            "one log is of one day: give the right one with --date, or take the climbs back",
        )
    return row


def _add_points(session: Session, sortie_id: int, points: list[Point], moment: datetime) -> None:
    """Add points and their terms, all points at once and then all terms."""
    rows = [
        CalibrationPoint(sortie_id=sortie_id, decided_at=moment, **values_of(Point, point))
        for point in points
    ]
    session.add_all(rows)
    session.flush()
    session.add_all(
        UncertaintyTerm(calibration_point_id=row.id, **values_of(BudgetTerm, term))
        for row, point in zip(rows, points, strict=True)
        for term in point.terms
    )
    session.flush()
