"""Put bench checks and leak checks in, and withdraw them."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.airframe_lookup import find_airframe
from fleetcal.store.bench_models import BenchCheck, BenchRow, LeakCheck
from fleetcal.store.bench_rows import NewBenchCheck
from fleetcal.store.explained import refusals_named
from fleetcal.store.leak_rows import NewLeakCheck
from fleetcal.store.models import Airframe, SourceFile

_BENCH = ("kind", "checked_on", "u", "note")
_LEAK = ("checked_on", "loss_ft", "limit_ft", "limit_source", "note")


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
        **{name: getattr(check, name) for name in _BENCH},
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


def add_leak_check(session: Session, check: NewLeakCheck, *, now: datetime | None = None) -> int:
    """Add a leak check.

    Args:
        session: Of a writing transaction.
        now: Aware time of adding; the clock's when left out.

    Returns:
        Its number.

    Raises:
        UnknownNameError: If there is no such airframe.
        DataError: If a value breaks a rule.
    """
    airframe = find_airframe(session, check.airframe)
    row = LeakCheck(
        airframe_id=airframe.id,
        passed=check.passed,
        **{name: getattr(check, name) for name in _LEAK},
        added_at=now or datetime.now(UTC),
    )
    with refusals_named(f"leak check of {check.airframe} on {check.checked_on}"):
        session.add(row)
        session.flush()
    return row.id


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
