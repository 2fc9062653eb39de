"""What has changed in a store since some moment, by its own history.

Changes are taken in the order of their links, in which they became visible: of two writers at
once on a server the one with the lower number of a change may be kept later.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fleetcal.store.history_standing import outcomes_of
from fleetcal.store.plain_reads import Reader, ask, moment_of

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

_LINKED: Final = """SELECT history_link.id, made_at FROM history_link
    JOIN store_change ON store_change.id = history_link.store_change_id"""


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


def state_mark(reader: Reader) -> StateMark | None:
    """Return the mark of the store as it is, None if nothing was ever changed."""
    newest = f"{_LINKED} ORDER BY history_link.id DESC LIMIT 1"
    for number, made_at in ask(reader, newest):
        return StateMark(number, moment_of(made_at), _taken_back(reader))
    return None


def airframes_changed_since(reader: Reader, mark: StateMark) -> frozenset[str] | None:
    """Return the airframes of which something changed that their points hang on.

    Returns:
        Tags; None if the store never had that state, or something changed that may concern every
        airframe.
    """
    number = {"number": mark.number}
    known = ask(reader, f"{_LINKED} WHERE history_link.id = :number", number)
    moments = [moment_of(made_at) for _, made_at in known]
    if moments != [mark.made_at] or _taken_back(reader) != mark.taken_back:
        return None
    query = """SELECT DISTINCT table_name, act, airframe FROM changed_row
        JOIN history_link ON history_link.store_change_id = changed_row.store_change_id
        WHERE history_link.id > :number"""
    tags = set()
    for table, act, tag in ask(reader, query, number):
        if table in _WITHOUT_EFFECT or (table in _ADDED_WITHOUT_EFFECT and act == "added"):
            continue
        if not tag or table in _ADDED_WITHOUT_EFFECT:
            return None
        tags.add(tag)
    return frozenset(tags)


def _taken_back(reader: Reader) -> int:
    return len(outcomes_of(reader).taken_back)
