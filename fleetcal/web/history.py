"""The history of the store: who did what and when, and taking it back."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, islice
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.services.keeping.store_history import (
    HistoryLine,
    history_of,
    person_of,
    undo,
)
from fleetcal.web.acting import Act, answer, note_done
from fleetcal.web.fields import Field, Typed
from fleetcal.web.shown import page, the_desk
from fleetcal.wording import counted

history = Blueprint("history", __name__)
_SHOWN: Final = 50
_MOST_VALUES: Final = 4
_LONGEST_VALUE: Final = 60
#: Rows of the store as people call them: one, and several.
_ROWS: Final = {
    "calibration_point": ("point", "points"),
    "climb_measurement": ("climb or glide", "climbs or glides"),
    "source_file": ("file", "files"),
    "equipment_fit": ("equipment", "equipments"),
    "aircraft_type": ("type", "types"),
    "uncertainty_term": ("term of a budget", "terms of budgets"),
    "log_piece": ("piece of a log", "pieces of logs"),
}
#: Who vouches for the name of a person.
_NAME_FROM: Final = {
    "server": "login of the server",
    "machine": "name as the machine has it",
    "claimed": "name as it was claimed",
}
_OF_OTHERS: Final = Field(
    name="of_others",
    label="Take it back although another person made it",
    kind="tick",
)
_UNDO: Final = Act(
    words="undo",
    title="Take a change back",
    subject="History",
    fields=(),
    button="Take it back",
    trail=(("The fleet", "index.html"), ("History", "history")),
    after=("It stays listed in the history, marked as taken back.",),
    template="desk_undo.html",
)


@dataclass(frozen=True, kw_only=True)
class Change:
    """One change of the store, as the history shows it.

    Attributes:
        rows: What it added, changed and removed, in words.
        values: The first values that it changed, before and after.
        undone: When it was taken back and by whom; empty while it stands.
        by: The person, and who vouches for the name.
        itself: Whether it is about the history itself, and cannot be taken back.
    """

    number: int
    made_at: str
    made_by: str
    words: str
    airframes: str
    rows: str
    values: tuple[str, ...]
    undone: str
    by: str
    itself: bool


@history.get("/history")
def show() -> str:
    """List the changes, newest first."""
    changes = _changes(history_of(the_desk().store, request.args.get("airframe") or None).lines)
    before = request.args.get("before", "")
    if before.isdecimal():
        changes = [one for one in changes if one.number < int(before)]
    newest = next((one.number for one in changes if not one.undone and not one.itself), None)
    return page(
        "desk_history.html",
        title="What was done",
        changes=changes[:_SHOWN],
        older=changes[_SHOWN - 1].number if len(changes) > _SHOWN else None,
        newest=newest,
        airframe=request.args.get("airframe", ""),
    )


@history.route("/history/undo", methods=["GET", "POST"])
def take_back() -> Response | str:
    """Take one change back, after a look at what it was."""
    text = request.args.get("change", "")
    found = next((one for one in _all() if str(one.number) == text), None)
    if found is None:
        raise UnknownNameError("there is no such change in the store", "History lists them")
    if found.undone and request.method != "POST":
        raise DataError(f"change {found.number} was taken back already", "nothing to do")

    def do(given: Typed) -> str:
        done = undo(store, found.number, of_others=given.tick("of_others"))
        entries = counted(done.rows, "entry", "entries")
        note_done(
            f"Change {done.change} is taken back, which {done.made_by} made: {entries}.",
            undoable=False,
        )
        return "history"

    store = the_desk().store
    act = _UNDO if found.made_by == person_of(store) else replace(_UNDO, fields=(_OF_OTHERS,))
    return answer(act, {}, do, change=found)


def _all() -> list[Change]:
    return _changes(history_of(the_desk().store).lines)


def _changes(lines: Sequence[HistoryLine]) -> list[Change]:
    """Return changes, the newest first."""
    grouped = groupby(sorted(lines, key=lambda one: -one.change), key=lambda one: one.change)
    return [_change(list(rows)) for _, rows in grouped]


def _change(rows: Sequence[HistoryLine]) -> Change:
    first = rows[0]
    return Change(
        number=first.change,
        made_at=f"{first.made_at:%Y-%m-%d %H:%M} UTC",
        made_by=first.made_by,
        words=first.command,
        airframes=", ".join(sorted({one.airframe for one in rows} - {""})[:_MOST_VALUES]),
        rows=_row_words(rows),
        values=tuple(islice(_values(rows), _MOST_VALUES)),
        undone=first.undone,
        by=f"{first.made_by} ({_NAME_FROM[first.name_from]})",
        itself=_is_itself(first),
    )


def _is_itself(line: HistoryLine) -> bool:
    return line.table == "store_change"


def _row_words(rows: Sequence[HistoryLine]) -> str:
    """Return what a change did, such as ``added 1 file, 1 sortie; changed 2 points``."""
    if _is_itself(rows[0]):
        taken_back = rows[0].act == "changed"
        words = "took change {} back" if taken_back else "a backup replaced changes up to {}"
        return words.format(rows[0].row_id)
    by_act: dict[str, Counter[str]] = {}
    for one in rows:
        by_act.setdefault(one.act, Counter())[one.table] += 1
    parts = []
    for act, tables in by_act.items():
        named = []
        for table, number in tables.items():
            plain = table.replace("_", " ")
            named.append(counted(number, *_ROWS.get(table, (plain, f"{plain}s"))))
        parts.append(f"{act} {', '.join(named)}")
    return "; ".join(parts)


def _values(rows: Iterable[HistoryLine]) -> Iterator[str]:
    found = []
    for one in rows:
        if one.act == "changed" and one.values:
            for name, (before, after) in json.loads(one.values).items():
                if not name.endswith(("_id", "_at")):
                    found.append(f"{name.replace('_', ' ')}: {_short(before)}, now {_short(after)}")
    yield from dict.fromkeys(found)


def _short(value: object) -> str:
    if value in (None, ""):
        return "nothing"
    words = ("no", "yes")[value] if isinstance(value, bool) else str(value)
    return words if len(words) <= _LONGEST_VALUE else f"{words[:_LONGEST_VALUE]}..."
