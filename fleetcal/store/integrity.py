"""Whether a store holds together: what a database can tell, and the hashes that it keeps."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Any

from sqlalchemy import func, inspect, select
from sqlalchemy.orm import Session, aliased

from fleetcal.store.engines.kinds import kind_of
from fleetcal.store.history_check import history_faults, rows_past_history
from fleetcal.store.models import (
    Airframe,
    Base,
    ClimbMeasurement,
    EquipmentFit,
    PublishedIssue,
    ReplacedVersion,
    Sortie,
)


def broken_parts(session: Session) -> Iterator[tuple[str, str]]:
    """Yield what does not hold together, as (where, what is wrong).

    Args:
        session: Reading.
    """
    yield from _database(session)
    for table in Base.metadata.sorted_tables:
        yield from _orphans(session, table)
    yield from _hashes(session)
    yield from _fits(session)
    yield from _climbs(session)
    yield from history_faults(session)
    yield from rows_past_history(session)


def sortie_settings(session: Session) -> dict[int, str]:
    """Return what each sortie was reduced with, as JSON, by its number."""
    query = select(Sortie.id, Sortie.settings_json)
    return {row.id: row.settings_json for row in session.execute(query)}


def _database(session: Session) -> Iterator[tuple[str, str]]:
    connection = session.connection()
    for words in kind_of(connection).damage(connection):
        yield "database file", words
    found = inspect(connection)
    for table in Base.metadata.sorted_tables:
        if not found.has_table(table.name):
            yield table.name, "the table is missing"
            continue
        missing = {c.name for c in table.columns} - {
            column["name"] for column in found.get_columns(table.name)
        }
        if missing:
            yield table.name, f"columns are missing: {', '.join(sorted(missing))}"


def _orphans(session: Session, table: Any) -> Iterator[tuple[str, str]]:
    """Find rows that refer to rows which are not there."""
    for key in table.foreign_key_constraints:
        parent = key.referred_table.alias()
        pairs = [(e.parent, parent.c[e.column.name]) for e in key.elements]
        meets = [child == column for child, column in pairs]
        query = (
            select(func.count(), func.min(table.c.id))
            .select_from(table.outerjoin(parent, meets[0] if len(meets) == 1 else _all(meets)))
            .where(pairs[0][1].is_(None), pairs[0][0].is_not(None))
        )
        count, first = session.execute(query).one()
        if count:
            yield table.name, f"{count} rows refer to no {key.referred_table.name}, first {first}"


def _all(conditions: list[Any]) -> Any:
    joined = conditions[0]
    for one in conditions[1:]:
        joined &= one
    return joined


def _hashes(session: Session) -> Iterator[tuple[str, str]]:
    for issue in session.scalars(select(PublishedIssue).execution_options(yield_per=20)):
        for name in ("inputs", "table"):
            digest = _sha256(getattr(issue, f"{name}_json"))
            if digest != getattr(issue, f"{name}_sha256"):
                where = f"issue {issue.number} of {issue.group_name}"
                yield where, f"the SHA-256 of its {name} is not the stored one"
    for old in session.scalars(select(ReplacedVersion).where(ReplacedVersion.content_json != "")):
        if _sha256(old.content_json) != old.digest:
            yield (
                f"replaced {old.kind} {old.thing_key}",
                "the SHA-256 of its content is not the stored one",
            )


def _sha256(content: str) -> str:
    return hashlib.sha256(content.encode("utf-8")).hexdigest()


def _fits(session: Session) -> Iterator[tuple[str, str]]:
    """Find sorties under another fit than the one in force on their day."""
    later = aliased(EquipmentFit)
    newest = (
        select(func.max(later.from_date))
        .where(later.airframe_id == Sortie.airframe_id, later.from_date <= Sortie.flown_on)
        .correlate(Sortie)
        .scalar_subquery()
    )
    query = (
        select(Sortie.id, Airframe.tag, EquipmentFit.from_date)
        .join(EquipmentFit, EquipmentFit.id == Sortie.equipment_fit_id)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .where((newest != EquipmentFit.from_date) | newest.is_(None))
    )
    for number, tag, begun in session.execute(query):
        yield (
            f"sortie {number} of {tag}",
            f"it is under the fit from {begun}, which was not in force on its day",
        )


def _climbs(session: Session) -> Iterator[tuple[str, str]]:
    """Find climbs and glides that cannot have come about as they stand."""
    query = select(ClimbMeasurement, Airframe.tag).select_from(ClimbMeasurement)
    query = query.join(Sortie, Sortie.id == ClimbMeasurement.sortie_id)
    query = query.join(Airframe, Airframe.id == Sortie.airframe_id)
    for row, tag in session.execute(query.order_by(ClimbMeasurement.id)):
        where = f"{row.kind} {row.number} of sortie {row.sortie_id} of {tag}"
        if row.decided_at < row.added_at:
            yield where, "it was decided on before it was added"
        if row.kind == "glide" and row.thrust_rate_ftmin > 0.0:
            yield where, "a glide with thrust"
        if row.indicated_rate_ftmin * row.rate_ftmin <= 0.0:
            yield where, "the altimeter and the rate worked out from it have opposite signs"
