"""Collect climbs and glides: one entry for all of a kind at one power state in a log."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any, Final

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from fleetcal.records import Climb, content_of, names_of
from fleetcal.store.enter_climbs import is_bare
from fleetcal.store.exchange.entries import Entry
from fleetcal.store.exchange.moments import moment_text
from fleetcal.store.models import Airframe, ClimbMeasurement, Sortie, SourceFile

NOT_CONTENT: Final = ("number", "kind", "power_state", "accepted", "reason")
CLIMB_FIELDS: Final = tuple(name for name in names_of(Climb) if name not in NOT_CONTENT)
#: What a sortie says that holds climbs and nothing else.
BARE_FIELDS: Final = ("weight_kg", "track_reference", "program_version", "note")


def collect_climbs(session: Session, which: ColumnElement[bool]) -> list[Entry]:
    """Return the climbs and glides of a store as entries.

    Args:
        which: Condition on airframe or source file.

    Returns:
        The number of a climb within its sortie is no part of what it is: it tells in which order a
        store's owner reduced climbs and glides.
    """
    query = (
        select(ClimbMeasurement, Sortie, Airframe.tag, SourceFile.sha256, is_bare())
        .join(Sortie, Sortie.id == ClimbMeasurement.sortie_id)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .join(SourceFile, SourceFile.id == Sortie.source_file_id)
        .where(which)
        .order_by(SourceFile.sha256, Airframe.tag)
        .order_by(ClimbMeasurement.kind, ClimbMeasurement.power_state)
        .order_by(Sortie.id, ClimbMeasurement.number)
    )
    return list(_grouped(session.execute(query).all()))


def _grouped(rows: Any) -> Iterator[Entry]:
    def key(row: Any) -> tuple[str, ...]:
        climb, _, tag, sha256, _ = row
        return sha256, tag, climb.kind, climb.power_state

    for name, found in groupby(rows, key):
        group = list(found)
        climbs = [row[0] for row in group]
        _, sortie, _, _, bare = group[0]
        content = {
            "flown_on": sortie.flown_on.isoformat(),
            "climbs": [_climb(climb) for climb in climbs],
        }
        state = {
            "added_at": moment_text(min(climb.added_at for climb in climbs)),
            "decisions": [_decision(climb) for climb in climbs],
            "sortie": _sortie(sortie) if bare else None,
        }
        yield Entry(
            kind="climbs",
            key=name,
            content=content,
            state=state,
            rows=tuple(climb.id for climb in climbs),
        )


def _climb(climb: ClimbMeasurement) -> dict[str, Any]:
    return content_of(Climb, {name: getattr(climb, name) for name in CLIMB_FIELDS})


def _decision(climb: ClimbMeasurement) -> dict[str, Any]:
    decided = climb.decided_at != climb.added_at  # else nobody has decided yet
    return {
        "accepted": climb.accepted,
        "reason": climb.reason,
        "decided_at": moment_text(climb.decided_at) if decided else None,
    }


def _sortie(sortie: Sortie) -> dict[str, Any]:
    values = {name: getattr(sortie, name) for name in BARE_FIELDS}
    return {**values, "added_at": moment_text(sortie.added_at)}
