"""Take a share file into a store: all of it, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import ConflictError, DataError
from fleetcal.plain_file import bytes_of
from fleetcal.services.sharing.additions import NamedAddition, additions
from fleetcal.services.sharing.doubted_entries import doubts_in_words
from fleetcal.services.sharing.plan_merge import Choices, PlannedMerge, plan_merge
from fleetcal.services.sharing.share_format import ShareFile, read_share
from fleetcal.services.sharing.share_logs import keep_shared
from fleetcal.store import Store
from fleetcal.store.exchange.entries import FLOWN, by_name, shown
from fleetcal.store.exchange.merge_rules import Conflict, Merging, Side
from fleetcal.store.exchange.write_entries import write_entries
from fleetcal.store.owner_rows import NOBODY, OWN, learn_people, set_coordinator, set_owner
from fleetcal.store.run_numbers import runs_of_points

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

__all__ = ["Choices", "MergeLine", "Merged", "Side", "merge", "read_share_file", "refuse_open"]


@dataclass(frozen=True)
class MergeLine:
    """What became of one entry."""

    what: str
    outcome: str


@dataclass(frozen=True, kw_only=True)
class Merged:
    """What a merge did or would do.

    Attributes:
        stored: False for a preview, or while a conflict is open.
        added, corrected, brought_up_to_date, unchanged: Entries: new here, given another content,
            given a later decision or standing, alike.
        lines: All but what was added or was alike.
        conflicts: With the side chosen for each.
        new: What each entry is called that is new here.
        additions: The same one by one: airframe, day, sortie, by whom.
        signed_by: Name, if one is given, and key in short; empty if nobody signed.
    """

    file: str
    stored: bool
    added: int
    corrected: int
    brought_up_to_date: int
    unchanged: int
    lines: tuple[MergeLine, ...]
    conflicts: tuple[Conflict, ...]
    new: tuple[str, ...] = ()
    signed_by: str = ""
    additions: tuple[NamedAddition, ...] = ()

    @property
    def open(self) -> int:
        """How many conflicts nobody has chosen a side for."""
        return sum(not conflict.chosen for conflict in self.conflicts)


def read_share_file(path: Path) -> ShareFile:
    """Return what a share file holds, checked as a whole.

    Raises:
        DataError: If it cannot be read or is refused.
    """
    try:
        raw = bytes_of(path)
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    return read_share(raw, path.name, datetime.now(UTC))


def merge(
    open_it: Callable[[], AbstractContextManager[Store]],
    path: Path,
    choices: Choices,
    *,
    preview: bool = False,
) -> Merged:
    """Merge a share file into a store in one transaction.

    Args:
        open_it: Opens the store; called once the file is found to be good.
        preview: Whether only to tell what would be done.

    Returns:
        Not stored while a conflict is open.

    Raises:
        DataError: If the file is refused, or a choice names a conflict that there is not.
    """
    file = read_share_file(path)
    with open_it() as store:
        if preview:
            with store.reading() as session:
                planned = plan_merge(session, file, path.name, choices)
            return _merged_lines(planned, path.name, file, stored=False)

        def work(session: Session) -> Merged:
            planned = plan_merge(session, file, path.name, choices)
            merged = _merged_lines(planned, path.name, file, stored=True)
            if merged.open:
                return replace(merged, stored=False)
            _write(session, planned, f"merge of {path.name}", datetime.now(UTC))
            return merged

        return store.write(work)


def _write(session: Session, planned: PlannedMerge, why: str, now: datetime) -> None:
    merging = planned.merging
    write_entries(session, merging, why, now)
    for (of, name), owner in merging.given.items():
        if (of, (name,)) not in merging.mine:
            continue  # written with it
        if of == "airframe":
            set_owner(session, name, owner)
        else:
            set_coordinator(session, name, owner, decides=False)
    learn_people(session, planned.judged.people, now)
    for log in planned.logs:
        keep_shared(session, log)


def refuse_open(merged: Merged) -> None:
    """Raise if conflicts are open.

    Raises:
        ConflictError: If so.
    """
    if merged.open:
        raise ConflictError(
            f"{merged.file}: {merged.open} conflicts are open; nothing was stored",
            "settle each with --choose NUMBER=mine or NUMBER=theirs, or all with --take",
        )


def _doubtful(merging: Merging) -> Iterator[MergeLine]:
    """Say of flights that come or change what is not to be used of them, and why."""
    for entry in by_name(merging.result):
        own = merging.mine.get(entry.name)
        if entry.kind not in FLOWN or (own is not None and own.state == entry.state):
            continue
        for doubt in doubts_in_words(entry, merging.result):
            yield MergeLine(shown(entry), doubt)
        if entry.kind != "flights":
            continue
        if any(runs_of_points(s["points"], s["legs"]) is None for s in entry.content["sorties"]):
            yield MergeLine(shown(entry), "its legs do not show the runs of its points")
        doubts = {p["doubt"] for s in entry.state["sorties"] for p in s["powers"] if p}
        for doubt in sorted(doubts - {""}):
            yield MergeLine(shown(entry), f"a power is left out of cruise: {doubt}")


def _owners_given(planned: PlannedMerge) -> Iterator[MergeLine]:
    """Say whose airframes and types are what from now on."""
    merging = planned.merging
    for (of, name), owner in sorted(merging.given.items()):
        if of == "type" and not owner:
            continue
        shown_owner = {OWN: "this store's own", NOBODY: "nobody's, the share does not say whose"}
        assert merging.authority is not None  # a share is always somebody's or nobody's
        whose = shown_owner.get(owner) or merging.authority.in_words(owner)
        yield MergeLine(f"{'owner' if of == 'airframe' else 'coordinator'} of {name}", whose)


def _merged_lines(planned: PlannedMerge, name: str, file: ShareFile, *, stored: bool) -> Merged:
    merging = planned.merging
    counts = {"added": 0, "corrected": 0, "brought up to date": 0, "unchanged": 0}
    lines, new = [], []
    for entry in by_name(merging.result):
        own = merging.mine.get(entry.name)
        if own is None:
            counts["added"] += 1
            new.append(shown(entry))
            continue
        if own.digest == entry.digest and own.state == entry.state:
            counts["unchanged"] += entry.name in merging.theirs
            continue
        outcome = "corrected" if own.digest != entry.digest else "brought up to date"
        counts[outcome] += 1
        lines.append(MergeLine(shown(entry), outcome))
    lines += [
        MergeLine(shown(entry), "left out by choice")
        for key, entry in {**merging.mine, **merging.theirs}.items()
        if key not in merging.result and (key, entry.digest) in merging.replaced
    ]
    lines += [MergeLine(shown(t), "left out: replaced before") for t in merging.left_out]
    lines += _doubtful(merging)
    lines += _owners_given(planned)
    logs = [shown(merging.result["file", (log.sha256,)]) for log in planned.logs]
    lines += [MergeLine(f"log of {log}", "kept") for log in logs]
    by = file.signer.shown if file.signer is not None else "nobody who signed"
    return Merged(
        file=name,
        stored=stored,
        added=counts["added"],
        corrected=counts["corrected"],
        brought_up_to_date=counts["brought up to date"],
        unchanged=counts["unchanged"],
        lines=tuple(lines),
        conflicts=tuple(merging.conflicts),
        new=tuple(new),
        signed_by=file.signer.shown if file.signer is not None else "",
        additions=additions(merging.result, merging.mine, by),
    )
