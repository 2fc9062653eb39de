"""Collect what was read from files, flown and checked, in a handful of queries."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence
from hashlib import sha256
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from fleetcal.records import BudgetTerm, Leg, Point, Power, columns_of, content_of, names_of
from fleetcal.store import models
from fleetcal.store.enter_climbs import is_bare
from fleetcal.store.exchange.collect_climbs import collect_climbs
from fleetcal.store.exchange.entries import FLOWN, Entry, canonical
from fleetcal.store.exchange.moments import moment_text
from fleetcal.store.models import (
    Airframe,
    BenchCheck,
    BenchRow,
    CalibrationPoint,
    CruisePower,
    LeakCheck,
    Sortie,
    SourceFile,
    UncertaintyTerm,
)

LEG_FIELDS = names_of(Leg)
TERM_FIELDS = names_of(BudgetTerm)
#: What has no default comes first.
POINT_FIELDS = tuple(
    column.name
    for column in sorted(columns_of(Point).values(), key=lambda column: not column.needed)
    if column.name not in ("accepted", "reason")
)
#: What is noted of the power of a run; when, beside it.
POWER_FIELDS = names_of(Power)
_AT_ONCE = 400  # databases limit the length of a list in a query


def collect_flown(
    session: Session, tags: Collection[str] | None, hashes: Collection[str]
) -> list[Entry]:
    """Return files, flights, bench checks and leak checks.

    Args:
        tags (collection of str or None): Of the airframes that are wanted; None for all.
        hashes (collection of str): Files that are wanted besides, with all flights in them.
    """
    if tags is None:
        return [
            *_files(session, SourceFile.id.is_not(None)),
            *_flown(session, Airframe.id.is_not(None)),
            *_bench_checks(session, Airframe.id.is_not(None)),
            *_leak_checks(session, Airframe.id.is_not(None)),
        ]
    found: dict[Any, Entry] = {}
    for part in _parts(tags):
        own = Airframe.tag.in_(part)
        checks = _bench_checks(session, own)
        new = [*_flown(session, own), *checks, *_leak_checks(session, own)]
        found |= {entry.name: entry for entry in new}
    for part in _parts(hashes):
        found |= {t.name: t for t in _flown(session, SourceFile.sha256.in_(part))}
    named = {t.key[0] for t in found.values() if t.kind in FLOWN}
    named |= {t.key[3] for t in found.values() if t.kind == "bench_check"}
    for part in _parts(named | set(hashes)):
        found |= {t.name: t for t in _files(session, SourceFile.sha256.in_(part))}
    return list(found.values())


def _parts(names: Collection[str]) -> Iterator[list[str]]:
    ordered = sorted(names)
    for start in range(0, len(ordered), _AT_ONCE):
        yield ordered[start : start + _AT_ONCE]


def _files(session: Session, which: ColumnElement[bool]) -> list[Entry]:
    return [
        Entry(
            kind="file",
            key=(row.sha256,),
            content={"kind": row.kind},
            state={"added_at": moment_text(row.added_at), "name": row.name},
        )
        for row in session.scalars(select(SourceFile).where(which))
    ]


def _flown(session: Session, which: ColumnElement[bool]) -> list[Entry]:
    return [*_flights(session, which), *collect_climbs(session, which)]


def _flights(session: Session, which: ColumnElement[bool]) -> list[Entry]:
    """Return one entry for each file and airframe: all sorties of it, in the order of the file."""
    chosen = (
        select(Sortie.id)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .join(SourceFile, SourceFile.id == Sortie.source_file_id)
        .where(which, ~is_bare())
    )
    legs = _legs(session, chosen)
    points, decisions, powers = _points(session, chosen)
    query = (
        select(Sortie, Airframe.tag, SourceFile.sha256)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .join(SourceFile, SourceFile.id == Sortie.source_file_id)
        .where(which, ~is_bare())
        .order_by(Sortie.id)
    )
    contents: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    states: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    numbers: dict[tuple[str, str], list[int]] = defaultdict(list)
    for row, tag, sha in session.execute(query):
        added_at = moment_text(row.added_at)
        contents[sha, tag].append(
            {
                "flown_on": row.flown_on.isoformat(),
                "weight_kg": row.weight_kg,
                "track_reference": row.track_reference,
                "settings_json": row.settings_json,
                "note": row.note,
                "legs": legs.get(row.id, []),
                "points": points.get(row.id, []),
            }
        )
        for one in decisions.get(row.id, []):
            if one["decided_at"] == added_at:  # as it was stored: nobody has decided yet
                one["decided_at"] = None
        numbers[sha, tag].append(row.id)
        states[sha, tag].append(
            {
                "added_at": added_at,
                "program_version": row.program_version,
                "decisions": decisions.get(row.id, []),
                "powers": powers.get(row.id, []),
            }
        )
    return [
        Entry(
            kind="flights",
            key=key,
            content={"sorties": sorties},
            state={"sorties": states[key]},
            rows=tuple(numbers[key]),
        )
        for key, sorties in contents.items()
    ]


def _legs(session: Session, chosen: Any) -> dict[int, list[dict[str, Any]]]:
    leg = models.Leg
    query = select(leg.sortie_id, *(getattr(leg, name) for name in LEG_FIELDS))
    query = query.where(leg.sortie_id.in_(chosen))
    found: dict[int, list[dict[str, Any]]] = {}
    for owner, *values in session.execute(
        query.order_by(leg.sortie_id, leg.run_number, leg.leg_number)
    ):
        leg_values = dict(zip(LEG_FIELDS, values, strict=True))
        found.setdefault(owner, []).append(content_of(Leg, leg_values))
    return found


_BySortie = dict[int, list[Any]]


def _points(session: Session, chosen: Any) -> tuple[_BySortie, _BySortie, _BySortie]:
    """Return points with their budgets, what was decided of them, and powers, by sortie."""
    ids = select(CalibrationPoint.id).where(CalibrationPoint.sortie_id.in_(chosen))
    terms: dict[int, list[dict[str, Any]]] = {}
    columns = [getattr(UncertaintyTerm, name) for name in TERM_FIELDS]
    query = select(UncertaintyTerm.calibration_point_id, *columns).where(
        UncertaintyTerm.calibration_point_id.in_(ids)
    )
    for owner, *term_values in session.execute(query.order_by(UncertaintyTerm.id)):
        terms.setdefault(owner, []).append(dict(zip(TERM_FIELDS, term_values, strict=True)))
    noted = _powers(session, ids)
    points: _BySortie = {}
    decisions: _BySortie = {}
    powers: _BySortie = {}
    rows = select(CalibrationPoint).where(CalibrationPoint.sortie_id.in_(chosen))
    for row in session.scalars(rows.order_by(CalibrationPoint.sortie_id, CalibrationPoint.number)):
        values = {name: getattr(row, name) for name in POINT_FIELDS}
        content = {**content_of(Point, values), "terms": terms.get(row.id, [])}
        points.setdefault(row.sortie_id, []).append(content)
        decisions.setdefault(row.sortie_id, []).append(
            {
                "accepted": row.accepted,
                "reason": row.reason,
                "decided_at": moment_text(row.decided_at),
            }
        )
        powers.setdefault(row.sortie_id, []).append(noted.get(row.id))
    return points, decisions, powers


def _powers(session: Session, points: Any) -> dict[int, dict[str, Any]]:
    """Return the powers that are noted, by point."""
    rows = select(CruisePower).where(CruisePower.calibration_point_id.in_(points))
    return {
        row.calibration_point_id: {
            **{name: getattr(row, name) for name in POWER_FIELDS},
            "noted_at": moment_text(row.noted_at),
        }
        for row in session.scalars(rows)
    }


def _bench_checks(session: Session, which: ColumnElement[bool]) -> list[Entry]:
    lines: dict[int, list[list[float]]] = {}
    ids = select(BenchCheck.id).join(Airframe, Airframe.id == BenchCheck.airframe_id).where(which)
    rows = select(BenchRow).where(BenchRow.bench_check_id.in_(ids)).order_by(BenchRow.indicated)
    for line in session.scalars(rows):
        lines.setdefault(line.bench_check_id, []).append([line.indicated, line.correction])
    query = (
        select(BenchCheck, Airframe.tag, SourceFile.sha256)
        .join(Airframe, Airframe.id == BenchCheck.airframe_id)
        .join(SourceFile, SourceFile.id == BenchCheck.source_file_id)
        .where(which)
        .order_by(BenchCheck.added_at, BenchCheck.id)
    )
    found = []
    for row, tag, sha in session.execute(query):
        content = {"u": row.u, "note": row.note, "rows": lines.get(row.id, [])}
        key = (tag, row.kind, row.checked_on.isoformat(), sha)
        found.append((key, content, row))
    return _counted("bench_check", found)


def _leak_checks(session: Session, which: ColumnElement[bool]) -> list[Entry]:
    query = (
        select(LeakCheck, Airframe.tag)
        .join(Airframe, Airframe.id == LeakCheck.airframe_id)
        .where(which)
        .order_by(LeakCheck.added_at, LeakCheck.id)
    )
    names = ("loss_ft", "limit_ft", "limit_source", "note")
    found = [
        ((tag, row.checked_on.isoformat()), {name: getattr(row, name) for name in names}, row)
        for row, tag in session.execute(query)
    ]
    return _counted("leak_check", found)


def _counted(
    kind: str, found: Sequence[tuple[tuple[str, ...], dict[str, Any], Any]]
) -> list[Entry]:
    """Key checks by their content; the second of two that are alike is number 2."""
    seen: Counter[tuple[Any, ...]] = Counter()
    entries = []
    for key, content, row in found:
        known = (*key, content_mark(content))
        seen[known] += 1
        state = {"added_at": moment_text(row.added_at), "withdrawn": row.withdrawn}
        entries.append(
            Entry(
                kind=kind, key=(*known, seen[known]), content=content, state=state, rows=(row.id,)
            )
        )
    return entries


def content_mark(content: dict[str, Any]) -> str:
    """Return the part of a check's key that stands for what it says.

    Returns:
        16 hexadecimal digits.
    """
    return sha256(canonical(content).encode("ascii")).hexdigest()[:16]
