"""Leak checks of static systems, and which sorties a failed one bars.

A check counts from the start of its day, and among checks of one day the last
entered comes last. A failed check says nothing about when the leak began, so it
bars what the airframe flew since its last passed check, or ever, and goes on to
bar until the next passed one. The points themselves are left as they are.

The bar is worked out at every reading and never written, so a later or withdrawn check
lifts it by itself. An exported point carries it in a column, and comes into another store
as not accepted, since the check stays behind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from fleetcal.store.plain_reads import Reader, ask, day_of, moment_of, texts_in_sql


@dataclass(frozen=True, kw_only=True)
class NewLeakCheck:
    """One leak check: feet of indicated altitude lost in one minute, and the limit."""

    airframe: str
    checked_on: date
    loss_ft: float
    limit_ft: float
    limit_source: str
    note: str = ""

    @property
    def passed(self) -> bool:
        """Whether the loss is within the limit."""
        return self.loss_ft <= self.limit_ft


@dataclass(frozen=True, kw_only=True)
class LeakCheckRow(NewLeakCheck):
    """A stored leak check; `withdrawn` is empty while it stands."""

    leak_check_id: int
    withdrawn: str


_SAME = "checked_on, loss_ft, limit_ft, limit_source, leak_check.note"


@dataclass(frozen=True)
class BarredSpan:
    """Days on which what an airframe flew is barred.

    Attributes:
        first: None: since ever.
        before: First day after the span; None: until further notice.
    """

    first: date | None
    before: date | None
    reason: str

    def holds(self, day: date) -> bool:
        """Tell whether a day lies in the span."""
        begun = self.first is None or self.first <= day
        return begun and (self.before is None or day < self.before)


def list_leak_checks(reader: Reader, tag: str | None = None) -> list[LeakCheckRow]:
    """Return leak checks, withdrawn ones too, by airframe and in the order in which they count.

    Args:
        tag: Only of this airframe.
    """
    query = f"""SELECT leak_check.id, airframe.tag, {_SAME}, withdrawn, added_at
        FROM leak_check JOIN airframe ON airframe.id = leak_check.airframe_id"""
    if tag is not None:
        query += " WHERE airframe.tag = :tag"
    found = [_read(*row) for row in ask(reader, query, {} if tag is None else {"tag": tag})]
    return [check for check, _ in sorted(found, key=_as_they_count)]


def _read(number: int, airframe: str, checked_on: Any, *rest: Any) -> tuple[LeakCheckRow, datetime]:
    loss_ft, limit_ft, limit_source, note, withdrawn, added_at = rest
    check = LeakCheckRow(
        leak_check_id=number,
        airframe=airframe,
        checked_on=day_of(checked_on),
        loss_ft=loss_ft,
        limit_ft=limit_ft,
        limit_source=limit_source,
        note=note,
        withdrawn=withdrawn,
    )
    return check, moment_of(added_at)


def _as_they_count(row: tuple[LeakCheckRow, datetime]) -> tuple[Any, ...]:
    """Order by what a check says: its number depends on the order in which stores were merged.

    Of two that were entered at the same moment the larger loss comes last, to be on the safe side.
    """
    check, added_at = row
    moment = (added_at, check.loss_ft - check.limit_ft, check.limit_ft, check.limit_source)
    return check.airframe, check.checked_on, *moment, check.note, check.leak_check_id


def barred_spans(checks: Sequence[LeakCheckRow]) -> dict[str, tuple[BarredSpan, ...]]:
    """Return the days that failed checks bar, by airframe.

    Args:
        checks: In the order in which they count.

    Returns:
        Only airframes that have some.
    """
    last_passed: dict[str, date] = {}
    open_since: dict[str, tuple[date | None, str]] = {}
    spans: dict[str, list[BarredSpan]] = {}
    for check in checks:
        tag, day = check.airframe, check.checked_on
        if check.withdrawn:
            continue
        if check.passed:
            if tag in open_since:
                spans.setdefault(tag, []).append(_span(*open_since.pop(tag), day))
            last_passed[tag] = day
        elif tag not in open_since:
            open_since[tag] = (last_passed.get(tag), _reason(check))
    for tag, (first, reason) in open_since.items():
        spans.setdefault(tag, []).append(_span(first, reason, None))
    return {tag: tuple(found) for tag, found in spans.items()}


def barred_sorties(reader: Reader) -> dict[int, str]:
    """Return why sorties are barred from every pool, by their number.

    Returns:
        Only sorties that are barred. One query where no check has failed, two otherwise, however
        many sorties and checks.
    """
    spans = barred_spans(list_leak_checks(reader))
    if not spans:
        return {}
    places, tags = texts_in_sql(spans)
    query = f"""SELECT sortie.id, airframe.tag, flown_on
        FROM sortie JOIN airframe ON airframe.id = sortie.airframe_id
        WHERE airframe.tag IN ({places})"""
    return {
        number: span.reason
        for number, tag, day in ask(reader, query, tags)
        for span in spans[tag]
        if span.holds(day_of(day))
    }


def _reason(check: LeakCheckRow) -> str:
    return (
        f"static leak check failed on {check.checked_on}: {check.loss_ft:g} ft lost in one "
        f"minute, limit {check.limit_ft:g} ft"
    )


def _span(first: date | None, reason: str, before: date | None) -> BarredSpan:
    until = f"passed again on {before}" if before else "not passed since"
    since = f"last passed before on {first}" if first else "never passed before"
    return BarredSpan(first, before, f"{reason}; {since}, {until}")
