"""How sharing and merging are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.keeping.check_store import StoreChecked
    from fleetcal.services.keeping.store_history import History
    from fleetcal.services.sharing.merge_share import Merged
    from fleetcal.services.sharing.share_store import Shared


def _shared_head(done: Shared) -> Iterator[str]:
    kept = "left in" if done.registrations else "left out"
    yield (
        f"The share {done.file} is written, with {counted(done.logs, 'log')}; registrations are "
        f"{kept}. It is signed by {done.signed_by}."
    )


SHARED: View[Shared] = View(
    kind="shared",
    rows="counts",
    columns=[Column("kind"), Column("things", heading="number")],
    answer=_shared_head,
    foot=lambda done: (f"Note: {note}." for note in done.notes),
)


def _merged_head(done: Merged) -> Iterator[str]:
    word = "is merged" if done.stored else "is not stored"
    yield (
        f"The share {done.file} {word}: {done.added} added, {done.corrected} corrected, "
        f"{done.brought_up_to_date} brought up to date, {done.unchanged} alike."
    )
    yield (
        f"It is signed by {done.signed_by}."
        if done.signed_by
        else "Nobody signed it: what it says is nobody's word."
    )


def _merged_foot(done: Merged) -> Iterator[str]:
    for new in done.additions:
        named = (new.airframe, new.flown_on, f"sortie {new.sortie}" if new.sortie else "")
        where = ", ".join(part for part in named if part)
        yield f"Added: {where + ': ' if where else ''}{new.what}, by {new.by}."
    for conflict in done.conflicts:
        yield f"Conflict {conflict.conflict}: {conflict.what}"
        yield f"  mine:   {conflict.mine}"
        yield f"  theirs: {conflict.theirs}"
        yield f"  chosen: {conflict.chosen or '-'}"


MERGED: View[Merged] = View(
    kind="merged",
    rows="lines",
    columns=[Column("what", wraps=True), Column("outcome")],
    answer=_merged_head,
    foot=_merged_foot,
)


def _checked_answer(checked: StoreChecked) -> Iterator[str]:
    found = counted(len(checked.faults), "fault") if checked.faults else "no faults"
    yield (
        f"The store has {found}; {counted(checked.points, 'point')} and the legs of "
        f"{counted(checked.sorties_with_legs, 'sortie')} were checked."
    )


CHECKED: View[StoreChecked] = View(
    kind="store_check",
    rows="faults",
    columns=[Column("where", wraps=True), Column("what", wraps=True)],
    answer=_checked_answer,
    head=lambda checked: [f"Store: {checked.store}"],
    foot=lambda checked: (
        [f"History: {counted(checked.links, 'link')}, the newest hash {checked.newest_hash}"]
        if checked.links
        else []
    ),
)


HISTORY: View[History] = View(
    kind="history",
    rows="lines",
    columns=[
        Column("change", importance=ALWAYS),
        Column("made_at", heading="when", wraps=True),
        Column("made_by", heading="by"),
        Column("name_from", heading="name from", importance=SPARE),
        Column("command"),
        Column("act"),
        Column("table", wraps=True),
        Column("row_id", importance=SPARE),
        Column("airframe"),
        Column("values", wraps=True),
        Column("undone", wraps=True),
    ],
    answer=lambda found: [
        f"The history has {counted(len(found.lines), 'entry', 'entries')}, oldest first."
    ],
)
