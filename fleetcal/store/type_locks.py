"""The types that a write locks, so that writers of different types need not wait for each other.

A file has one writer at a time. On a server that can, a write that says what it touches
(`Touching`) shares the store with other such writes and locks the rows of its aircraft types, in
the order of their numbers, so that no two can wait for each other in a circle. Writers of one
type follow each other; the link of the history comes last, under a lock of its own
(`history_chain`). A write that says nothing keeps every other writer out: merges, restored
backups, upgrades, undoing, and whatever changes types, airframes, equipment, handbooks or owners.
So these stand still for a write that shares.

What was said is held against what is written. A write that went further, or met a value that
another had just taken, such as the same file for an airframe of another type, is undone and done
again with the store to itself. Of what a write only reads, flights of other types may come in
while it lasts: of one flight that two people enter within the same second, from two files and
for airframes of two types, neither is told of the other.

`python -m tests.bench.writers` measures what it is worth: on two busy processors four writers on
four types store 1.3 times as many flights as with one lock, and a decision that waited 7 s for a
flight of 6,000 points of another type takes 0.05 s.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import astuple
from typing import Any, Final

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from fleetcal.store.history_recording import Recorder
from fleetcal.store.models import (
    AircraftType,
    Airframe,
    BenchCheck,
    BenchRow,
    CalibrationPoint,
    ClimbMeasurement,
    CruisePower,
    KeptLog,
    LeakCheck,
    Leg,
    LogPiece,
    PublishedIssue,
    ReplacedVersion,
    Sortie,
    SourceFile,
    UncertaintyTerm,
)
from fleetcal.store.touching import Touching

# Of so many rows one by one the store is taken as a whole: their numbers fill a statement.
_MOST_ROWS: Final = 1000
# Rows of one airframe or type, and rows that anybody may add.
_OF_ONE: Final = frozenset(
    model.__tablename__
    for model in (
        *(Sortie, Leg, CalibrationPoint, UncertaintyTerm, ClimbMeasurement, CruisePower),
        *(BenchCheck, BenchRow, LeakCheck, PublishedIssue, ReplacedVersion),
    )
)
_ADDED_BY_ANYBODY: Final = frozenset(
    model.__tablename__ for model in (SourceFile, KeptLog, LogPiece)
)


class BeyondError(Exception):
    """A write has to have the store to itself; it was undone."""


def lock_types(session: Session, touching: Touching) -> frozenset[int]:
    """Lock the types that a write touches until its transaction ends.

    Args:
        session: Of a transaction that shares the store.

    Returns:
        Their numbers.

    Raises:
        BeyondError: If there are none, as of an airframe that is not there yet, or too many rows.
    """
    if sum(map(len, astuple(touching))) > _MOST_ROWS:
        raise BeyondError
    query = select(AircraftType.id).where(_is_touched(touching)).order_by(AircraftType.id)
    found = frozenset(session.scalars(query.with_for_update(of=AircraftType)))
    if not found:
        raise BeyondError
    return found


def _is_touched(touching: Touching) -> ColumnElement[bool]:
    """Return the condition under which a type is touched."""
    sorties = [Sortie.id.in_(touching.sorties)] if touching.sorties else []
    for owner, numbers in (
        (CalibrationPoint, touching.points),
        (ClimbMeasurement, touching.climbs),
    ):
        if numbers:
            sorties.append(Sortie.id.in_(select(owner.sortie_id).where(owner.id.in_(numbers))))
    if touching.files:
        files = select(SourceFile.id).where(SourceFile.sha256.in_(touching.files))
        sorties.append(Sortie.source_file_id.in_(files))
    airframes = [Airframe.tag.in_(touching.airframes)] if touching.airframes else []
    if sorties:
        airframes.append(Airframe.id.in_(select(Sortie.airframe_id).where(or_(*sorties))))
    for check, numbers in (
        (BenchCheck, touching.bench_checks),
        (LeakCheck, touching.leak_checks),
    ):
        if numbers:
            airframes.append(
                Airframe.id.in_(select(check.airframe_id).where(check.id.in_(numbers)))
            )
    types = [AircraftType.name.in_(touching.types)]
    if airframes:
        of_airframes = select(Airframe.aircraft_type_id).where(or_(*airframes))
        types.append(AircraftType.id.in_(of_airframes))
    return or_(*types)


def refuse_beyond(session: Session, recorder: Recorder, types: Iterable[int]) -> None:
    """Raise if a write touched what it had not locked.

    Args:
        session: With all that is written.
        types: That are locked.

    Raises:
        BeyondError: If so.
    """
    for act, table in recorder.acts():
        if table not in _OF_ONE and not (act == "added" and table in _ADDED_BY_ANYBODY):
            raise BeyondError
    apart: dict[str, list[int]] = {}
    for table, number in recorder.without_airframe():
        apart.setdefault(table, []).append(number)
    found: set[Any] = set()
    for of_airframe in _airframes(recorder.airframes(), apart):
        query = select(Airframe.aircraft_type_id).where(of_airframe)
        found.update(session.scalars(query.distinct()))
    if issues := apart.get(PublishedIssue.__tablename__):
        query = select(PublishedIssue.aircraft_type_id).where(PublishedIssue.id.in_(issues))
        found.update(session.scalars(query))
    if not found <= set(types):
        raise BeyondError


def _airframes(numbers: set[int], apart: dict[str, list[int]]) -> Iterable[ColumnElement[bool]]:
    if numbers:
        yield Airframe.id.in_(numbers)
    for model in (Sortie, BenchCheck):
        if owned := apart.get(model.__tablename__):
            yield Airframe.id.in_(select(model.airframe_id).where(model.id.in_(owned)))


def met_another(error: BaseException) -> bool:
    """Tell whether a value was refused, which another writer may just have taken."""
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, IntegrityError):
            return True
        seen = seen.__cause__
    return False
