"""Enter bench checks and leak checks, list them, withdraw one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fleetcal.airdata.yardsticks import LEAK_LIMIT_M, LEAK_SOURCE
from fleetcal.errors import DataError, MissingColumnError
from fleetcal.services.bench.bench_corrections import UNITS
from fleetcal.services.plain_table import PlainTable, Tell, read_plain_table, silent
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_columns import table_column
from fleetcal.services.table_words import ERRORS
from fleetcal.store import (
    BenchCheckRow,
    LeakCheckRow,
    NewBenchCheck,
    NewLeakCheck,
    Store,
    Touching,
    add_bench_check,
    add_leak_check,
    add_source,
    find_airframe,
    find_source,
    list_bench_checks,
    list_leak_checks,
    withdraw_check,
)
from fleetcal.units import from_si

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

# Believable readings and corrections of each kind, in its unit.
_READINGS: Final = {"airspeed": (0.0, 500.0), "altimeter": (-2000.0, 60000.0)}
_INDICATED: Final = {
    "airspeed": ("ias", "airspeed", "reading", "indicated airspeed", "asi", "asi reading"),
    "altimeter": ("altitude", "reading", "indicated altitude", "altimeter", "altimeter reading"),
}
_CORRECTION: Final = ("instrument correction", "scale correction", "add", "to add")
_CORRECTIONS: Final = {"airspeed": 50.0, "altimeter": 2000.0}


@dataclass(frozen=True, kw_only=True)
class BenchEntered:
    """What entering a bench check did; `known_already` when it was there."""

    kind: str
    number: int
    airframe: str
    checked_on: date
    rows: int
    known_already: bool


@dataclass(frozen=True, kw_only=True)
class LeakEntered:
    """What entering a leak check did."""

    number: int
    airframe: str
    checked_on: date
    loss_ft: float
    limit_ft: float
    limit_source: str
    passed: bool


@dataclass(frozen=True, kw_only=True)
class CheckLine:
    """One check as it is listed: of an instrument, or (kind ``leak``) of a static system.

    `lowest`, `highest` and `largest_correction` are in `unit`, and so is `u`.
    """

    kind: str
    number: int
    airframe: str
    checked_on: date
    unit: str
    u: float | None
    lines: int | None
    lowest: float | None
    highest: float | None
    largest_correction: float | None
    loss_ft: float | None
    limit_ft: float | None
    passed: bool | None
    withdrawn: str
    note: str


@dataclass(frozen=True)
class CheckList:
    """All checks, by airframe, kind and day."""

    checks: tuple[CheckLine, ...]


def enter_bench_check(
    store: Store,
    kind: str,
    path: Path,
    airframe: str,
    checked_on: date,
    u: float,
    note: str = "",
    tell: Tell = silent,
) -> BenchEntered:
    """Enter a check of an airspeed indicator or altimeter, all or nothing.

    Args:
        kind: ``airspeed`` or ``altimeter``.
        path: CSV with the columns ``indicated_kt, correction_kt`` or ``indicated_ft,
            correction_ft``; the correction is added to the reading.
        airframe: Tag.
        u: Standard uncertainty of the corrections, kt or ft.
        tell: Called with how the file was read, if it is not written in the usual way.

    Returns:
        With `known_already` when the same content was entered for the same instrument and day.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If the file is wrong, or another check of that day stands.
    """
    unit = UNITS[kind]
    columns = (
        table_column(f"indicated_{unit}", *_INDICATED[kind]),
        table_column(f"correction_{unit}", *_CORRECTION, not_this=ERRORS),
    )
    table = read_plain_table(path, columns, tell)
    lines = _lines(kind, table)
    check = NewBenchCheck(
        airframe=airframe, kind=kind, checked_on=checked_on, u=u, rows=lines, note=note
    )

    def work(session: Session) -> tuple[int, bool]:
        find_airframe(session, airframe)
        for old in list_bench_checks(session, airframe):
            is_same = (old.kind, old.checked_on, old.sha256) == (kind, checked_on, table.sha256)
            if is_same and not old.withdrawn:
                return old.bench_check_id, True
        known_file = find_source(session, table.sha256)
        source = known_file or add_source(session, table.sha256, table.name, "bench")
        return add_bench_check(session, source, check), False

    number, known = store.write(work, Touching(airframes=(airframe,)))
    return BenchEntered(
        kind=kind,
        number=number,
        airframe=airframe,
        checked_on=checked_on,
        rows=len(lines),
        known_already=known,
    )


def enter_leak_check(
    store: Store,
    airframe: str,
    checked_on: date,
    loss_ft: float,
    limit_ft: float | None = None,
    limit_source: str = "",
    note: str = "",
) -> LeakEntered:
    """Enter a leak check of a closed static system.

    Args:
        airframe: Tag.
        loss_ft: Indicated altitude lost in one minute.
        limit_ft: 100 ft, as 14 CFR 23.1325(b)(2)(i) had it, when left out.
        limit_source: Where another limit comes from.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If another limit is given without its source.
    """
    usual = from_si(LEAK_LIMIT_M, "ft")
    limit = usual if limit_ft is None else limit_ft
    source = limit_source.strip() or (LEAK_SOURCE if limit == usual else "")
    if not source:
        raise DataError(
            f"a limit of {limit:g} ft without its source",
            "say with --limit-source where it is from",
        )
    check = NewLeakCheck(
        airframe=airframe,
        checked_on=checked_on,
        loss_ft=loss_ft,
        limit_ft=limit,
        limit_source=source,
        note=note,
    )
    number = store.write(
        lambda session: add_leak_check(session, check), Touching(airframes=(airframe,))
    )
    return LeakEntered(
        number=number,
        airframe=airframe,
        checked_on=checked_on,
        loss_ft=loss_ft,
        limit_ft=limit,
        limit_source=source,
        passed=check.passed,
    )


def list_checks(store: Store, airframe: str | None = None) -> CheckList:
    """Return all checks, withdrawn ones too.

    Args:
        airframe: Tag; all airframes when left out.

    Raises:
        UnknownNameError: If the airframe is not in the store.
    """
    with store.reading() as session:
        if airframe is not None:
            find_airframe(session, airframe)
        lines = [_instrument(check) for check in list_bench_checks(session, airframe)]
        lines += [_leak(check) for check in list_leak_checks(session, airframe)]
    return CheckList(
        tuple(sorted(lines, key=lambda c: (c.airframe, c.kind, c.checked_on, c.number)))
    )


def withdraw(store: Store, kind: str, number: int, reason: str) -> str:
    """Let a check count no more; it stays in the store with the reason.

    Args:
        kind: ``airspeed``, ``altimeter`` or ``leak``.

    Returns:
        Tag of its airframe.

    Raises:
        DataError: If the reason is blank, or there is no such check that stands.
    """
    return store.write(
        lambda session: withdraw_check(session, kind, number, reason),
        Touching(leak_checks=(number,)) if kind == "leak" else Touching(bench_checks=(number,)),
    )


def _lines(kind: str, table: PlainTable) -> tuple[tuple[float, float], ...]:
    unit = UNITS[kind]
    names = (f"indicated_{unit}", f"correction_{unit}")
    missing = [name for name in names if name not in table.headings]
    if missing:
        raise MissingColumnError(
            f"{table.name}, line 1: no column {', '.join(missing)}",
            f"a file of this check has {names[0]} and {names[1]}",
        )
    lines: dict[float, float] = {}
    for row in table.rows:
        reading = _within(row, names[0], *_READINGS[kind])
        if reading in lines:
            raise row.wrong(f"{reading:g} stands twice", "keep one correction a reading", names[0])
        lines[reading] = _within(row, names[1], -_CORRECTIONS[kind], _CORRECTIONS[kind])
    return tuple(sorted(lines.items()))


def _within(row: FileRow, column: str, lowest: float, highest: float) -> float:
    value = row.required(column)
    if not lowest <= value <= highest:
        raise row.wrong(
            f"{value:g} is outside {lowest:g} to {highest:g}", "check unit and column", column
        )
    return value


def _instrument(check: BenchCheckRow) -> CheckLine:
    readings = [reading for reading, _ in check.rows]
    return CheckLine(
        kind=check.kind,
        number=check.bench_check_id,
        airframe=check.airframe,
        checked_on=check.checked_on,
        unit=UNITS[check.kind],
        u=check.u,
        lines=len(check.rows),
        lowest=min(readings),
        highest=max(readings),
        largest_correction=max((correction for _, correction in check.rows), key=abs),
        loss_ft=None,
        limit_ft=None,
        passed=None,
        withdrawn=check.withdrawn,
        note=check.note,
    )


def _leak(check: LeakCheckRow) -> CheckLine:
    return CheckLine(
        kind="leak",
        number=check.leak_check_id,
        airframe=check.airframe,
        checked_on=check.checked_on,
        unit="ft",
        u=None,
        lines=None,
        lowest=None,
        highest=None,
        largest_correction=None,
        loss_ft=check.loss_ft,
        limit_ft=check.limit_ft,
        passed=check.passed,
        withdrawn=check.withdrawn,
        note=check.note,
    )
