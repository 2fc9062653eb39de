"""What has changed in a store since some moment, by its own history.

Changes are taken in the order of their links, in which they became visible: of two writers at
once on a server the one with the lower number of a change may be kept later.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from fleetcal.store.history_standing import outcomes_of
from fleetcal.store.models import ChangedRow, HistoryLink, StoreChange

#: Tables whose rows change nothing in what the points of an airframe say.
_WITHOUT_EFFECT: Final = frozenset(
    {
        *("source_file", "published_issue", "replaced_version", "store_change"),
        *(
            "handbook_curve",
            "handbook_point",
            "handbook_speed",
            "handbook_cruise",
            "climb_measurement",
            "leg",
        ),
        *("bench_check", "bench_row", "kept_log", "log_piece", "cruise_power"),
    }
)
#: Tables of which a new row changes nothing that was there.
_ADDED_WITHOUT_EFFECT: Final = frozenset(
    {"aircraft_type", "static_source", "engine", "propeller", "airframe"}
)


@dataclass(frozen=True)
class StateMark:
    """The last change of a store: two stores with the same one hold the same.

    Attributes:
        number: Of its link in the history.
        taken_back: How many changes were taken back.
    """

    number: int
    made_at: datetime
    taken_back: int


def state_mark(session: Session) -> StateMark | None:
    """Return the mark of the store as it is, None if nothing was ever changed."""
    query = _linked().order_by(HistoryLink.id.desc()).limit(1)
    last = session.execute(query).one_or_none()
    return None if last is None else StateMark(last.id, last.made_at, _taken_back(session))


def airframes_changed_since(session: Session, mark: StateMark) -> frozenset[str] | None:
    """Return the airframes of which something changed that their points hang on.

    Returns:
        Tags; None if the store never had that state, or something changed that may concern every
        airframe.
    """
    known = session.execute(_linked().where(HistoryLink.id == mark.number)).one_or_none()
    if known is None or known.made_at != mark.made_at or _taken_back(session) != mark.taken_back:
        return None
    query = (
        select(ChangedRow.table_name, ChangedRow.act, ChangedRow.airframe)
        .join(HistoryLink, HistoryLink.store_change_id == ChangedRow.store_change_id)
        .where(HistoryLink.id > mark.number)
        .distinct()
    )
    tags = set()
    for table, act, tag in session.execute(query):
        if table in _WITHOUT_EFFECT or (table in _ADDED_WITHOUT_EFFECT and act == "added"):
            continue
        if not tag or table in _ADDED_WITHOUT_EFFECT:
            return None
        tags.add(tag)
    return frozenset(tags)


def _linked() -> Select[int, datetime]:
    return select(HistoryLink.id, StoreChange.made_at).join(
        StoreChange, StoreChange.id == HistoryLink.store_change_id
    )


def _taken_back(session: Session) -> int:
    return len(outcomes_of(session).taken_back)
