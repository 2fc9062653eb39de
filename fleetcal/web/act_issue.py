"""Issues of tables: make one, list them, compare two, withdraw one, take its files along."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import ImplausibleError, UnknownNameError
from fleetcal.publish.published_files import FORMATS
from fleetcal.services.chosen_store import IssueSeries
from fleetcal.services.publishing.compare_issues import compare_issues
from fleetcal.services.publishing.issues import known_issues, make_again, make_issue, withdraw
from fleetcal.web.acting import FLEET_TRAIL, Act, answer, note_done
from fleetcal.web.fields import Field, Typed, read_fields
from fleetcal.web.files import attachment, private_folder
from fleetcal.web.shown import page, the_desk
from fleetcal.web.table_form import request_of, table_form, table_query

act_issue = Blueprint("act_issue", __name__)
_TRAIL: Final = (FLEET_TRAIL, ("Issues of tables", "issues"))
_REASON: Final = Field(name="reason", label="Why", required=True)
_MAKE: Final = Act(
    words="publish --issue",
    title="Issue this table",
    fields=(replace(_REASON, label="Why it is issued", advice="It is printed on the table."),),
    button="Issue it",
    intro=(
        "It gets the group's next number. What went into it is kept: its points, every choice and "
        "the version of the program, so that it can be written again to the last digit.",
    ),
    after=("An issue is withdrawn with a reason, and stays listed. History takes it back.",),
    trail=_TRAIL,
)
_WITHDRAW: Final = Act(
    words="issue withdraw",
    title="Withdraw an issue",
    fields=(replace(_REASON, advice="Its files then say so, with this reason."),),
    button="Withdraw it",
    intro=("It stays listed. Whoever has its files has to be told by you.",),
    trail=_TRAIL,
)


@act_issue.get("/issues")
def listed() -> str:
    """List all issues of all tables."""
    lines = known_issues(the_desk().store).issues
    series = dict.fromkeys(IssueSeries(one.type, one.group, one.flap_setting) for one in lines)
    return page(
        "desk_issues.html",
        title="Issues of tables",
        series=[
            {
                "of": one,
                "query": _query(one),
                "issues": [
                    line
                    for line in lines
                    if (line.type, line.group, line.flap_setting)
                    == (one.type, one.group, one.flap_setting)
                ],
            }
            for one in series
        ],
        formats=tuple(FORMATS),
    )


@act_issue.route("/issues/make", methods=["GET", "POST"])
def make() -> Response | str:
    """Make the next issue of a table."""

    def do(typed: Typed) -> str:
        chosen, layout = request_of(read_fields(table_form().fields, request.args))
        with private_folder() as folder:
            done = make_issue(
                the_desk().store,
                chosen,
                folder,
                issued_on=date.today(),
                why=typed.text("reason"),
                layout=layout,
            )
        note_done(f"Issue {done.number} of {done.group}, flaps {done.flap_setting}, is made.")
        return "issues"

    of = request.args.get("group", "")
    act = replace(_MAKE, subject=of, trail=(*_TRAIL, ("The table", f"publish?{table_query()}")))
    return answer(act, {}, do)


@act_issue.get("/issues/compare")
def compare() -> str:
    """Say what changed between two issues."""
    found = compare_issues(the_desk().store, _series(), _number("first"), _number("second"))
    return page(
        "desk_issue_change.html",
        title=f"Issue {found.second} against issue {found.first}",
        change=found,
    )


@act_issue.get("/issues/file")
def file() -> Response:
    """Send a file of an issue, as it was published."""
    name = request.args.get("format", "")
    if name not in FORMATS:
        raise ImplausibleError(f"unknown format {name!r}", f"formats: {', '.join(FORMATS)}")
    with private_folder() as folder:
        done = make_again(the_desk().store, _series(), _number("number"), folder)
        path = next(Path(one.path) for one in done.files if one.format == name)
        numbered = path.with_name(f"issue-{done.number}-{path.name}")
        path.rename(numbered)
        return attachment(numbered)


@act_issue.route("/issues/withdraw", methods=["GET", "POST"])
def withdraw_issue() -> Response | str:
    """Withdraw an issue with a reason."""
    series, number = _series(), _number("number")

    def do(typed: Typed) -> str:
        withdraw(
            the_desk().store,
            series,
            number,
            reason=typed.text("reason"),
            day=date.today(),
            folder=None,
        )
        note_done(f"Issue {number} of {series} is withdrawn.")
        return "issues"

    title = f"Withdraw issue {number} of {series.group}"
    return answer(replace(_WITHDRAW, title=title), {}, do)


def _query(series: IssueSeries) -> str:
    names = {"type": series.type, "group": series.group, "flaps": series.flap_setting}
    return urlencode(names)


def _series() -> IssueSeries:
    """Return whose issues the address names.

    Raises:
        UnknownNameError: If it was never issued.
    """
    given = request.args
    named = (given.get("type", ""), given.get("group", ""), given.get("flaps", "up"))
    for line in known_issues(the_desk().store).issues:
        if (line.type, line.group, line.flap_setting) == named:
            return IssueSeries(line.type, line.group, line.flap_setting)
    raise UnknownNameError("no such table was ever issued", "the issues are listed")


def _number(name: str) -> int:
    text = request.args.get(name, "")
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        raise UnknownNameError(f"{text!r} is no number of an issue", "the issues are listed")
    return int(text)
