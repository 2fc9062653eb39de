"""Bench checks of airspeed indicators and altimeters: put in, find, list, withdraw."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.bench_models import BenchCheck, BenchRow, LeakCheck
from fleetcal.store.explained import refusals_named
from fleetcal.store.models import Airframe, SourceFile
from fleetcal.store.names import find_airframe


@dataclass(frozen=True, kw_only=True)
class NewBenchCheck:
    """One check of an instrument.

    Attributes:
        airframe: Tag.
        kind: ``airspeed`` (kt) or ``altimeter`` (ft).
        u: Standard uncertainty of the corrections, kt or ft.
        rows (tuple of (indicated, correction)): The correction is added to the reading.
    """

    airframe: str
    kind: str
    checked_on: date
    u: float
    rows: tuple[tuple[float, float], ...]
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class BenchCheckRow(NewBenchCheck):
    """A stored bench check with its lines, lowest reading first.

    `withdrawn` is empty while the check stands, else the reason why not.
    """

    bench_check_id: int
    withdrawn: str
    source_name: str
    sha256: str


_SAME = ("kind", "checked_on", "u", "note")


def add_bench_check(
    session: Session, source: SourceFile, check: NewBenchCheck, *, now: datetime | None = None
) -> int:
    """Add a bench check.

    Args:
        session: Of a writing transaction.
        source: Where it was read from.
        now: Aware time of adding; the clock's when left out.

    Returns:
        Its number.

    Raises:
        UnknownNameError: If there is no such airframe.
        DataError: If it has no lines, the same instrument has another check of that day that
            stands, or a value breaks a rule.
    """
    airframe = find_airframe(session, check.airframe)
    what = f"{check.kind} check of {check.airframe} on {check.checked_on}"
    if not check.rows:
        raise DataError(f"{what}: no lines", "give at least one reading with its correction")
    _refuse_second(session, airframe, check, what)
    row = BenchCheck(
        airframe_id=airframe.id,
        source_file_id=source.id,
        **{name: getattr(check, name) for name in _SAME},
        added_at=now or datetime.now(UTC),
    )
    with refusals_named(what):
        session.add(row)
        session.flush()
        session.add_all(
            BenchRow(bench_check_id=row.id, indicated=indicated, correction=correction)
            for indicated, correction in sorted(check.rows)
        )
        session.flush()
    return row.id


def _refuse_second(session: Session, airframe: Airframe, check: NewBenchCheck, what: str) -> None:
    """Refuse a second check of one instrument on one day: neither would be the newest."""
    standing = session.scalar(
        select(BenchCheck.id).where(
            BenchCheck.airframe_id == airframe.id,
            BenchCheck.kind == check.kind,
            BenchCheck.checked_on == check.checked_on,
            BenchCheck.withdrawn == "",
        )
    )
    if standing is not None:
        raise DataError(
            f"{what}: the store has one of that day, number {standing}",
            "withdraw that one first if it was wrong",
        )


def bench_check_in_force(session: Session, tag: str, kind: str, day: date) -> BenchCheckRow | None:
    """Return the newest bench check not later than a day, None if there is none.

    Args:
        kind: ``airspeed`` or ``altimeter``.
    """
    query = (
        _checks()
        .where(
            Airframe.tag == tag,
            BenchCheck.kind == kind,
            BenchCheck.checked_on <= day,
            BenchCheck.withdrawn == "",
        )
        .order_by(BenchCheck.checked_on.desc(), BenchCheck.id.desc())
        .limit(1)
    )
    found = _with_rows(session, query)
    return found[0] if found else None


def list_bench_checks(session: Session, tag: str | None = None) -> list[BenchCheckRow]:
    """Return bench checks, withdrawn ones too, by airframe, kind and day.

    Args:
        tag: Only of this airframe.

    Returns:
        Always two queries, however many checks.
    """
    query = _checks() if tag is None else _checks().where(Airframe.tag == tag)
    found = _with_rows(session, query)
    return sorted(found, key=lambda c: (c.airframe, c.kind, c.checked_on, c.bench_check_id))


def withdraw_check(session: Session, kind: str, number: int, reason: str) -> str:
    """Let a check count no more; it stays in the store with the reason.

    Args:
        session: Of a writing transaction.
        kind: ``airspeed``, ``altimeter`` or ``leak``.

    Returns:
        Tag of its airframe.

    Raises:
        DataError: If the reason is blank or the check is withdrawn already.
        UnknownNameError: If there is no such check.
    """
    if not reason.strip():
        raise DataError("no reason was given for withdrawing a check", "say why in words")
    check: BenchCheck | LeakCheck | None
    if kind == "leak":
        check = session.get(LeakCheck, number)
    else:
        check = session.get(BenchCheck, number)
        check = check if check is not None and check.kind == kind else None
    if check is None:
        raise UnknownNameError(
            f"there is no {kind} check {number} in the store", "'fleetcal show checks' shows them"
        )
    if check.withdrawn:
        raise DataError(
            f"{kind} check {number} is withdrawn already: {check.withdrawn}", "nothing to do"
        )
    check.withdrawn = reason.strip()
    session.flush()
    airframe = session.get(Airframe, check.airframe_id)
    assert airframe is not None  # its key refers to it
    return airframe.tag


def _checks() -> Select[*tuple[Any, ...]]:
    return (
        select(BenchCheck, Airframe.tag, SourceFile.name, SourceFile.sha256)
        .join(Airframe, Airframe.id == BenchCheck.airframe_id)
        .join(SourceFile, SourceFile.id == BenchCheck.source_file_id)
    )


def _with_rows(session: Session, query: Select[*tuple[Any, ...]]) -> list[BenchCheckRow]:
    """Run a query of checks and give each its lines."""
    found = session.execute(query).all()
    numbers = query.with_only_columns(BenchCheck.id).subquery()
    lines: dict[int, list[tuple[float, float]]] = {}
    rows = select(BenchRow).where(BenchRow.bench_check_id.in_(select(numbers)))
    for line in session.scalars(rows.order_by(BenchRow.indicated)):
        lines.setdefault(line.bench_check_id, []).append((line.indicated, line.correction))
    return [
        BenchCheckRow(
            bench_check_id=check.id,
            airframe=tag,
            **{name: getattr(check, name) for name in _SAME},
            withdrawn=check.withdrawn,
            source_name=name,
            sha256=sha256,
            rows=tuple(lines.get(check.id, ())),
        )
        for check, tag, name, sha256 in found
    ]
