"""Issues of a table: make one, list them, make one again, withdraw one.

An issue keeps its inputs and its answer. The table is worked out again from the points,
options and program version that were kept, and compared with the answer; what was published
is what is written. Another version of the program or of the drawing library may write the
same figures in other bytes, and the command says so. Who was left out is kept, and not
judged again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.published_files import (
    PublishedFile,
    chosen_formats,
    contents_waiting,
    table_contents,
    write_contents,
)
from fleetcal.publish.table_record import canonical_json, table_from_record, table_record
from fleetcal.services.curves.pooled_curve import CurveRequest, describe_curve, fit_group
from fleetcal.services.handbook.limit_sources import limits_of_type
from fleetcal.services.publishing.issue_inputs import freeze_inputs, thaw_inputs
from fleetcal.services.publishing.printed_digits import same_digits
from fleetcal.services.publishing.publish_curve import Layout, WrittenFile
from fleetcal.services.publishing.stored_first import although_stored
from fleetcal.services.publishing.table_of_group import table_of_group
from fleetcal.store import (
    IssueLine,
    IssueSeries,
    NewIssue,
    Store,
    StoredIssue,
    Touching,
    add_issue,
    find_issue,
    list_issues,
    next_issue_number,
    withdraw_issue,
)
from fleetcal.version import __version__

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class MadeIssue:
    """An issue whose files were written."""

    group: str
    flap_setting: str
    number: int
    inputs_sha256: str
    files: tuple[WrittenFile, ...]


@dataclass(frozen=True)
class IssueList:
    """Issues as they are listed."""

    issues: tuple[IssueLine, ...]


@dataclass(frozen=True, kw_only=True)
class MadeAgain:
    """An issue made again.

    Attributes:
        digits: What working the table out again from the kept points gave.
        digits_same: To the last printed digit.
        bytes_same: Every file as it was published. Of a withdrawn issue, but for saying so.
        differing: Formats that are not as they were published, and why that can be.
    """

    group: str
    number: int
    files: tuple[WrittenFile, ...]
    digits: str
    digits_same: bool
    bytes_same: bool
    differing: tuple[str, ...]
    withdrawn: str


def make_issue(
    store: Store,
    request: CurveRequest,
    folder: Path,
    issued_on: date,
    why: str,
    layout: Layout | None = None,
) -> MadeIssue:
    """Fit a group, write its table as the next issue and keep all that went in.

    Args:
        why: Why it is issued; printed on it.

    Raises:
        FleetcalError: As `publish_curve`; DataError if no reason is given. Nothing is stored then,
            nor if a file cannot be written.
    """
    layout = layout or Layout()
    fitted = fit_group(store, replace(request, fewest=FEWEST_AIRCRAFT))
    if fitted.airframe is not None:
        raise DataError(
            f"{fitted.called} is one airframe, and an issue is of a group of airframes",
            "publish it without --issue",
        )
    curve = describe_curve(fitted)
    limits = limits_of_type(store, fitted)
    table = table_of_group(fitted, curve, issued_on, layout.form, limits)
    inputs = freeze_inputs(fitted, layout.form, issued_on, curve.left_out, limits)
    series = IssueSeries(curve.type, curve.group, curve.flap_setting)
    with ExitStack() as waiting:

        def work(session: Session) -> tuple[IssueMark, Callable[[], tuple[PublishedFile, ...]]]:
            number = next_issue_number(session, series)
            mark = IssueMark(
                number=number, issued_on=issued_on, inputs_sha256=_sha256(inputs), why=why.strip()
            )
            marked = replace(table, issue=mark)
            contents = table_contents(marked, paper=layout.paper)
            add_issue(session, series, number, _kept(table, contents, inputs, why, layout.paper))
            chosen = {name: contents[name] for name in chosen_formats(layout.formats)}
            return mark, waiting.enter_context(contents_waiting(marked, folder, chosen))

        mark, move_into_place = store.write(work, Touching(types=(series.type,)))
        with although_stored(series, mark.number):
            files = move_into_place()
    return MadeIssue(
        group=series.group,
        flap_setting=series.flap_setting,
        number=mark.number,
        inputs_sha256=mark.inputs_sha256,
        files=tuple(WrittenFile(file.format, str(file.path)) for file in files),
    )


def _kept(
    table: PooledTable, contents: dict[str, bytes], inputs: str, why: str, paper: str
) -> NewIssue:
    record = table_record(table)
    hashes = {name: _sha256(content) for name, content in contents.items()}
    return NewIssue(
        issued_on=table.made_on,
        why=why,
        inputs_json=inputs,
        inputs_sha256=_sha256(inputs),
        table_json=record,
        table_sha256=_sha256(record),
        files_json=canonical_json({"paper": paper, "sha256": hashes}),
        model=table.model,
    )


def _sha256(content: str | bytes) -> str:
    raw = content.encode("utf-8") if isinstance(content, str) else content
    return hashlib.sha256(raw).hexdigest()


def known_issues(store: Store, group: str | None = None) -> IssueList:
    """List issues, withdrawn ones too.

    Args:
        group: Only of this group.
    """
    with store.reading() as session:
        found = list_issues(session)
    folded = None if group is None else group.strip().casefold()
    return IssueList(tuple(i for i in found if folded in (None, i.group.casefold())))


def find_series(
    store: Store, group: str, type_name: str | None = None, flap_setting: str = "up"
) -> IssueSeries:
    """Return whose issues a name means.

    Args:
        group: In any case.

    Raises:
        UnknownNameError: If it was never issued.
        DataError: If types share the name and none was given.
    """
    found = {
        IssueSeries(line.type, line.group, line.flap_setting)
        for line in known_issues(store, group).issues
        if line.flap_setting == flap_setting and type_name in (None, line.type)
    }
    if len(found) > 1:
        types = ", ".join(sorted(series.type for series in found))
        raise DataError(f"{group!r} was issued for several types: {types}", "name one with --type")
    if found:
        return found.pop()
    known = sorted({f"{i.group}, flaps {i.flap_setting}" for i in known_issues(store).issues})
    raise UnknownNameError(
        f"no table of {group!r}, flaps {flap_setting}, was ever issued",
        f"issued: {'; '.join(known)}"
        if known
        else "make the first one with 'fleetcal publish --issue'",
    )


def make_again(store: Store, series: IssueSeries, number: int, folder: Path) -> MadeAgain:
    """Write an issue as it was published, and work it out again from what is kept of it.

    Raises:
        UnknownNameError: If there is no such issue.
        DataError: If a file cannot be written.
    """
    with store.reading() as session:
        stored = find_issue(session, series, number)
    table = table_from_record(stored.table_json)
    kept = json.loads(stored.files_json)
    mark = mark_of(stored.line)
    published = replace(table, issue=replace(mark, withdrawn="", withdrawn_on=None))
    contents = table_contents(published, paper=kept["paper"])
    differing = _differing(published, contents, kept["sha256"])
    digits, same = _worked_out_again(store, stored, table)
    marked = replace(table, issue=mark)
    if marked != published:  # withdrawn since
        contents = table_contents(marked, paper=kept["paper"])
    files = write_contents(marked, folder, contents)
    return MadeAgain(
        group=series.group,
        number=number,
        files=tuple(WrittenFile(file.format, str(file.path)) for file in files),
        digits=digits,
        digits_same=same,
        bytes_same=not differing,
        differing=differing,
        withdrawn=mark.warning,
    )


def mark_of(line: IssueLine) -> IssueMark:
    """Return what a published table says about being this issue."""
    return IssueMark(
        number=line.number,
        issued_on=line.issued_on,
        inputs_sha256=line.inputs_sha256,
        why=line.why,
        withdrawn=line.withdrawn,
        withdrawn_on=line.withdrawn_on,
    )


def _differing(
    published: PooledTable, contents: dict[str, bytes], hashes: dict[str, str]
) -> tuple[str, ...]:
    return tuple(
        f"{name}: program or drawing library lays it out differently from fleetcal "
        f"{published.program_version} did (this is {__version__}); the figures are those of the "
        "issue"
        for name, content in contents.items()
        if _sha256(content) != hashes.get(name)
    )


def _worked_out_again(store: Store, stored: StoredIssue, table: PooledTable) -> tuple[str, bool]:
    if _sha256(stored.inputs_json) != stored.line.inputs_sha256:
        return "the kept points are not those that were published: their SHA-256 differs", False
    again = table_again(store, stored.inputs_json)
    if table_record(replace(again, program_version=table.program_version)) == stored.table_json:
        return "worked out again from the kept points: every digit is the same", True
    if same_digits(again, table):
        return "worked out again from the kept points: every printed digit is the same", True
    return (
        f"worked out again from the kept points: fleetcal {__version__} gives other digits than "
        f"{table.program_version} gave; the files hold those that were published",
        False,
    )


def table_again(store: Store, inputs_json: str) -> PooledTable:
    """Return the table that this program makes of kept inputs.

    Raises:
        FleetcalError: If they cannot be read or fitted.
    """
    kept = thaw_inputs(inputs_json)
    curve = replace(describe_curve(kept.fitted), left_out=kept.left_out)
    return table_of_group(kept.fitted, curve, kept.made_on, kept.form, kept.limits)


def withdraw(
    store: Store, series: IssueSeries, number: int, reason: str, day: date, folder: Path | None
) -> tuple[WrittenFile, ...]:
    """Withdraw an issue, and write its files once more so that they say so.

    Args:
        folder: Where the files are; None writes none.

    Raises:
        FleetcalError: If there is no such issue, it is withdrawn already, no reason is given, or a
            file cannot be written; the issue then stands.
    """
    with ExitStack() as waiting:

        def work(session: Session) -> Callable[[], tuple[PublishedFile, ...]]:
            withdraw_issue(session, series, number, reason, day)
            if folder is None:
                return tuple
            stored = find_issue(session, series, number)
            table = replace(table_from_record(stored.table_json), issue=mark_of(stored.line))
            contents = table_contents(table, paper=json.loads(stored.files_json)["paper"])
            return waiting.enter_context(contents_waiting(table, folder, contents))

        move_into_place = store.write(work, Touching(types=(series.type,)))
        with although_stored(series, number):
            files = move_into_place()
    return tuple(WrittenFile(file.format, str(file.path)) for file in files)
