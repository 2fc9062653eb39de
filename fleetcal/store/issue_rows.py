"""Issues of published tables: put in, find, list, withdraw. None is ever changed or removed."""

from __future__ import annotations

from datetime import UTC, date, datetime

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.explained import refusals_named
from fleetcal.store.issue_lines import IssueLine, IssueSeries, NewIssue, StoredIssue
from fleetcal.store.models import AircraftType, PublishedIssue
from fleetcal.version import __version__

_LISTED = [n for n in IssueLine.__dataclass_fields__ if n not in ("type", "group")]


def next_issue_number(session: Session, series: IssueSeries) -> int:
    """Return the number that the next issue of a series gets.

    Returns:
        From 1; numbers of withdrawn issues are not given again.
    """
    query = (
        select(func.max(PublishedIssue.number))
        .join(AircraftType, AircraftType.id == PublishedIssue.aircraft_type_id)
        .where(*_of(series))
    )
    return (session.scalar(query) or 0) + 1


def add_issue(
    session: Session,
    series: IssueSeries,
    number: int,
    issue: NewIssue,
    *,
    now: datetime | None = None,
) -> None:
    """Add an issue.

    Args:
        session: Of a writing transaction.
        now: Aware time of adding; the clock's when left out.

    Raises:
        UnknownNameError: If there is no such type.
        DataError: If the number is taken, no reason is given, or a value breaks a rule.
    """
    if not issue.why.strip():
        raise DataError("no reason was given for issuing a table", "say why in words")
    kind = session.scalar(select(AircraftType.id).where(AircraftType.name == series.type))
    if kind is None:
        raise UnknownNameError(f"there is no type {series.type!r} in the store")
    values = dict(vars(issue), why=issue.why.strip())
    with refusals_named(f"issue {number} of {series}"):
        session.add(
            PublishedIssue(
                aircraft_type_id=kind,
                group_name=series.group,
                flap_setting=series.flap_setting,
                number=number,
                program_version=__version__,
                withdrawn="",
                added_at=now or datetime.now(UTC),
                **values,
            )
        )
        session.flush()


def list_issues(session: Session, series: IssueSeries | None = None) -> list[IssueLine]:
    """Return issues, withdrawn ones too, by type, group, flap setting and number.

    Args:
        series: Only of this one.
    """
    columns = [getattr(PublishedIssue, name) for name in _LISTED]
    query = select(
        AircraftType.name.label("type"), PublishedIssue.group_name.label("group"), *columns
    ).join(AircraftType, AircraftType.id == PublishedIssue.aircraft_type_id)
    if series is not None:
        query = query.where(*_of(series))
    found = [IssueLine(**row._mapping) for row in session.execute(query)]
    return sorted(found, key=lambda i: (i.type, i.group, i.flap_setting, i.number))


def find_issue(session: Session, series: IssueSeries, number: int) -> StoredIssue:
    """Return one issue with its contents.

    Raises:
        UnknownNameError: If there is no such issue.
    """
    row = _row(session, series, number)
    columns = {name: getattr(row, name) for name in _LISTED}
    line = IssueLine(type=series.type, group=series.group, **columns)
    return StoredIssue(line, row.inputs_json, row.table_json, row.files_json)


def withdraw_issue(
    session: Session, series: IssueSeries, number: int, reason: str, day: date
) -> None:
    """Withdraw an issue; it stays in the store with the reason.

    Args:
        session: Of a writing transaction.

    Raises:
        UnknownNameError: If there is no such issue.
        DataError: If the reason is blank, or the issue is withdrawn already.
    """
    if not reason.strip():
        raise DataError("no reason was given for withdrawing an issue", "say why in words")
    row = _row(session, series, number)
    if row.withdrawn:
        raise DataError(
            f"issue {number} of {series} is withdrawn already: {row.withdrawn}", "nothing to do"
        )
    row.withdrawn, row.withdrawn_on = reason.strip(), day
    session.flush()


def _row(session: Session, series: IssueSeries, number: int) -> PublishedIssue:
    query = (
        select(PublishedIssue)
        .join(AircraftType, AircraftType.id == PublishedIssue.aircraft_type_id)
        .where(*_of(series), PublishedIssue.number == number)
    )
    row = session.scalar(query)
    if row is None:
        known = [str(line.number) for line in list_issues(session, series)]
        raise UnknownNameError(
            f"there is no issue {number} of {series} in the store",
            f"issues of it: {', '.join(known)}" if known else "it was never issued",
        )
    return row


def _of(series: IssueSeries) -> tuple[ColumnElement[bool], ...]:
    return (
        AircraftType.name == series.type,
        PublishedIssue.group_name == series.group,
        PublishedIssue.flap_setting == series.flap_setting,
    )
