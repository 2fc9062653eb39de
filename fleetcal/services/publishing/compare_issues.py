"""What changed between two issues of a table, and why."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Final

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_record import table_from_record
from fleetcal.services.publishing.issue_inputs import KeptInputs, thaw_inputs
from fleetcal.store import (
    IssueSeries,
    PointFilter,
    Store,
    StoredIssue,
    StoredPoint,
    find_issue,
    list_issues,
    select_points,
)
from fleetcal.wording import decimal

#: A change of a correction below this is none that is printed.
_LEAST_KT: Final = 0.005


@dataclass(frozen=True, kw_only=True)
class IssueChangeRow:
    """One airspeed of both issues: correction, and half the width of the mean's band, kt."""

    ias_kt: float
    first_kt: float | None
    second_kt: float | None
    change_kt: float | None
    first_half_band_kt: float | None
    second_half_band_kt: float | None


@dataclass(frozen=True, kw_only=True)
class IssueChange:
    """Second issue less first.

    Attributes:
        rows: Over the airspeeds of either.
        reasons: Why each issue after the first was made, or withdrawn.
        points: Which points came, went or changed, by airframe, and why they went.
        choices: What was chosen differently, model and program included.
    """

    type: str
    group: str
    flap_setting: str
    first: int
    second: int
    first_issued_on: date
    second_issued_on: date
    rows: tuple[IssueChangeRow, ...]
    reasons: tuple[str, ...]
    points: tuple[str, ...]
    choices: tuple[str, ...]
    same_inputs: bool

    @property
    def answers(self) -> tuple[str, ...]:
        """By how much the corrections differ, in a sentence."""
        changes = [(abs(row.change_kt), row) for row in self.rows if row.change_kt is not None]
        largest_kt, at = max(changes, key=lambda one: one[0], default=(0.0, None))
        if at is None or largest_kt < _LEAST_KT:
            same = f"Issue {self.second} of {self.group} has the corrections of issue"
            return (f"{same} {self.first}.",)
        return (
            f"Issue {self.second} of {self.group} differs from issue {self.first} by "
            f"{decimal(largest_kt, 2)} kt at most, at {at.ias_kt:.0f} kt.",
        )


def compare_issues(store: Store, series: IssueSeries, first: int, second: int) -> IssueChange:
    """Compare two issues of a table.

    Args:
        first, second: Numbers.

    Raises:
        UnknownNameError: If there is no such issue.
    """
    with store.reading() as session:
        old, new = (find_issue(session, series, number) for number in (first, second))
        lines = list_issues(session, series)
        now = {
            row.point_id: row
            for row in select_points(
                session, PointFilter(type=series.type, flap_setting=series.flap_setting)
            )
        }
    before, after = thaw_inputs(old.inputs_json), thaw_inputs(new.inputs_json)
    low, high = sorted((first, second))
    return IssueChange(
        type=series.type,
        group=series.group,
        flap_setting=series.flap_setting,
        first=first,
        second=second,
        first_issued_on=old.line.issued_on,
        second_issued_on=new.line.issued_on,
        rows=_rows(table_from_record(old.table_json), table_from_record(new.table_json)),
        reasons=tuple(
            f"issue {line.number} of {line.issued_on}: {line.why}"
            + (f"; withdrawn on {line.withdrawn_on}: {line.withdrawn}" if line.withdrawn else "")
            for line in lines
            if low < line.number <= high
        ),
        points=_points(before, after, now),
        choices=_choices(old, new, before, after),
        same_inputs=old.line.inputs_sha256 == new.line.inputs_sha256,
    )


def _rows(old: PooledTable, new: PooledTable) -> tuple[IssueChangeRow, ...]:
    sides = [{round(row.given_kt, 6): row for row in table.rows} for table in (old, new)]
    changes = []
    for speed in sorted(set(sides[0]) | set(sides[1])):
        first, second = (side.get(speed) for side in sides)
        values = [None if row is None else row.correction_kt for row in (first, second)]
        halves = [
            (row.mean_high_kt - row.mean_low_kt) / 2.0
            if row is not None and row.mean_high_kt is not None and row.mean_low_kt is not None
            else None
            for row in (first, second)
        ]
        a, b = values
        changes.append(
            IssueChangeRow(
                ias_kt=speed,
                first_kt=a,
                second_kt=b,
                change_kt=None if a is None or b is None else b - a,
                first_half_band_kt=halves[0],
                second_half_band_kt=halves[1],
            )
        )
    return tuple(changes)


def _points(before: KeptInputs, after: KeptInputs, now: dict[int, StoredPoint]) -> tuple[str, ...]:
    came = [after.points[i][2] for i in sorted(set(after.points) - set(before.points))]
    gone = sorted(set(before.points) - set(after.points))
    changed = [
        after.points[i][2]
        for i in sorted(set(after.points) & set(before.points))
        if after.points[i] != before.points[i]
    ]
    outside = {one.airframe: one.reason for one in after.fitted.pool.left_out}
    why = [
        (before.points[i][2], outside.get(before.points[i][2]) or _why_gone(now.get(i)))
        for i in gone
    ]
    return (
        *_counted(came, "came in"),
        *(
            f"{count} point{'s' if count > 1 else ''} of {tag} went: {reason}"
            for (tag, reason), count in sorted(Counter(why).items())
        ),
        *_counted(changed, "have other values"),
    )


def _counted(tags: list[str], what: str) -> tuple[str, ...]:
    return tuple(
        f"{count} point{'s' if count > 1 else ''} of {tag} {what}"
        for tag, count in sorted(Counter(tags).items())
    )


def _why_gone(row: StoredPoint | None) -> str:
    if row is None:
        return "no longer in the store"
    if not row.accepted:
        return row.reason
    return row.barred or "no longer in a group that is fitted"


def _chosen(value: object) -> str:
    """Return a choice in words; of several airframes their tags."""
    return ", ".join(value) or "none" if isinstance(value, tuple) else str(value)


def _limits(what: str, here: KeptInputs, there: KeptInputs) -> list[str]:
    return [
        f"{what}: {kept.name}, {kept.words}" for kept in here.limits if kept not in there.limits
    ]


def _choices(
    old: StoredIssue, new: StoredIssue, before: KeptInputs, after: KeptInputs
) -> tuple[str, ...]:
    changes = [
        f"{name}: {_chosen(before.choices[name])} then {_chosen(after.choices[name])}"
        for name in sorted(before.choices)
        if before.choices[name] != after.choices[name]
    ]
    for name, a, b in (
        ("model", old.line.model, new.line.model),
        ("program", old.line.program_version, new.line.program_version),
        ("type", before.fitted.known.type, after.fitted.known.type),
    ):
        if a != b:
            changes.append(f"{name}: {a} then {b}")
    changes += _limits("no longer a limit", before, after)
    changes += _limits("now a limit", after, before)
    changes += _left_out("now left out", after, before)
    changes += _left_out("no longer left out", before, after)
    return tuple(changes)


def _left_out(what: str, here: KeptInputs, there: KeptInputs) -> list[str]:
    changes = [kept for kept in here.left_out if kept not in there.left_out]
    return [f"{what}: {kept.removesuffix('.')}" for kept in changes]
