"""How issues of tables are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.wording import there_are

if TYPE_CHECKING:
    from fleetcal.services.publishing.compare_issues import IssueChange
    from fleetcal.services.publishing.issues import IssueList, MadeAgain


def _issues_answer(found: IssueList) -> Iterator[str]:
    number, gone = len(found.issues), sum(bool(one.withdrawn) for one in found.issues)
    withdrawn = f", {gone} of them withdrawn" if gone else ""
    yield f"{there_are(number, 'issue')}{withdrawn}."


ISSUES: View[IssueList] = View(
    kind="issues",
    rows="issues",
    columns=[
        Column("type", once=True),
        Column("group", section=True),
        Column("flap_setting", heading="flaps", once=True),
        Column("number", importance=ALWAYS),
        Column("issued_on"),
        Column("why", wraps=True),
        Column("withdrawn_on"),
        Column("withdrawn", wraps=True),
        Column("program_version", importance=SPARE),
    ],
    answer=_issues_answer,
)


def _change_head(found: IssueChange) -> Iterator[str]:
    yield (
        f"{found.type}, flaps {found.flap_setting}: issue {found.second} of "
        f"{found.second_issued_on} minus issue {found.first} of {found.first_issued_on}, "
        "corrections CAS - IAS."
    )


def _change_foot(found: IssueChange) -> Iterator[str]:
    for sentence in found.reasons:
        yield f"Why: {sentence}."
    for sentence in found.points:
        yield f"Points: {sentence}."
    for sentence in found.choices:
        yield f"Changed: {sentence}."
    if found.same_inputs:
        yield "What went in is the same, to the last digit."
    elif not found.points:
        yield "The points are the same."


CHANGE: View[IssueChange] = View(
    kind="issue_change",
    rows="rows",
    columns=[
        Column("ias_kt", 0),
        Column("first_kt", 1, sign=True),
        Column("second_kt", 1, sign=True),
        Column("change_kt", 2, sign=True),
        Column("first_half_band_kt", 2),
        Column("second_half_band_kt", 2),
    ],
    answer=lambda found: found.answers,
    head=_change_head,
    foot=_change_foot,
    cautioned=True,
    tells_of="curve",
)


def _again_foot(found: MadeAgain) -> Iterator[str]:
    yield f"{found.digits[0].upper()}{found.digits[1:]}."
    if found.bytes_same:
        yield "Every file has the bytes that were published" + (
            ", but for saying that the issue is withdrawn." if found.withdrawn else "."
        )
    for sentence in found.differing:
        yield f"Not the bytes that were published: {sentence}."
    if found.withdrawn:
        yield found.withdrawn


AGAIN: View[MadeAgain] = View(
    kind="issue_again",
    rows="files",
    columns=[Column("format", importance=ALWAYS), Column("path", importance=ALWAYS)],
    answer=lambda found: [f"Issue {found.number} of {found.group} is written again."],
    foot=_again_foot,
)
