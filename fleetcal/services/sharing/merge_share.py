"""Take a share file into a store: all of it, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy.orm import Session

from fleetcal.errors import ConflictError, DataError
from fleetcal.services.sharing.share_format import ShareFile, read_share
from fleetcal.services.sharing.share_logs import SharedLog, keep_shared, logs_to_keep
from fleetcal.store import Store, list_logs
from fleetcal.store.exchange.collect_entries import collect_entries, replaced_digests
from fleetcal.store.exchange.cross_checks import settle_across
from fleetcal.store.exchange.entries import Entries, Key, by_name, shown
from fleetcal.store.exchange.merge_rules import Chooser, Conflict, Merging, Side, begin_merge
from fleetcal.store.exchange.write_entries import write_entries
from fleetcal.store.run_numbers import runs_of_points

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

    @property
    def open(self) -> int:
        """How many conflicts nobody has chosen a side for."""
        return sum(not conflict.chosen for conflict in self.conflicts)


@dataclass(frozen=True)
class Choices:
    """How conflicts are settled.

    Attributes:
        take: ``mine`` or ``theirs`` for all that are not named.
        named: Side by the number of a conflict.
    """

    take: Side | None
    named: Mapping[str, Side]

    def side(self, number: str) -> Side | None:
        """Return the side chosen for a conflict."""
        return self.named.get(number, self.take)


def read_share_file(path: Path) -> ShareFile:
    """Return what a share file holds, checked as a whole.

    Raises:
        DataError: If it cannot be read or is refused.
    """
    try:
        raw = path.read_bytes()
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
    theirs = file.entries
    with open_it() as store:
        if preview:
            with store.reading() as session:
                merging = _merging(
                    collect_entries(session, *_scope(theirs)),
                    theirs,
                    replaced_digests(session),
                    choices.side,
                )
                logs = logs_to_keep(list_logs(session), file.logs, merging.result)
            _refuse_idle_choices(merging, choices)
            return _merged_lines(merging, path.name, file, logs, stored=False)

        def work(session: Session) -> Merged:
            mine = collect_entries(session, *_scope(theirs))
            merging = _merging(mine, theirs, replaced_digests(session), choices.side)
            _refuse_idle_choices(merging, choices)
            logs = logs_to_keep(list_logs(session), file.logs, merging.result)
            merged = _merged_lines(merging, path.name, file, logs, stored=True)
            if merged.open:
                return replace(merged, stored=False)
            write_entries(session, merging, f"merge of {path.name}", datetime.now(UTC))
            for log in logs:
                keep_shared(session, log)
            return merged

        return store.write(work)


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


def _scope(theirs: Entries) -> tuple[set[str], set[str]]:
    """Return the tags and files that a merge has to look at in my store."""
    tags = {name for kind, (name, *_) in theirs if kind == "airframe"}
    return tags, {name for kind, (name, *_) in theirs if kind == "file"}


def _merging(
    mine: Entries, theirs: Entries, gone: Mapping[Key, frozenset[str]], choose: Chooser
) -> Merging:
    merging = begin_merge(mine, theirs, gone, choose)
    settle_across(merging)
    return merging


def _refuse_idle_choices(merging: Merging, choices: Choices) -> None:
    known = {conflict.conflict for conflict in merging.conflicts}
    for number in choices.named:
        if number not in known:
            raise DataError(
                f"there is no conflict {number} with this file",
                f"conflicts: {', '.join(sorted(known))}" if known else "there are none",
            )


def _doubtful(merging: Merging) -> Iterator[MergeLine]:
    """Say of flights that come or change what is not to be used of them, and why."""
    for entry in by_name(merging.result):
        own = merging.mine.get(entry.name)
        if entry.kind != "flights" or (own is not None and own.state == entry.state):
            continue
        if any(runs_of_points(s["points"], s["legs"]) is None for s in entry.content["sorties"]):
            yield MergeLine(shown(entry), "its legs do not show the runs of its points")
        doubts = {p["doubt"] for s in entry.state["sorties"] for p in s["powers"] if p}
        for doubt in sorted(doubts - {""}):
            yield MergeLine(shown(entry), f"a power is left out of cruise: {doubt}")


def _merged_lines(
    merging: Merging, name: str, file: ShareFile, logs: Sequence[SharedLog], *, stored: bool
) -> Merged:
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
        for name, entry in {**merging.mine, **merging.theirs}.items()
        if name not in merging.result and entry not in merging.left_out
    ]
    lines += [MergeLine(shown(t), "left out: replaced before") for t in merging.left_out]
    lines += _doubtful(merging)
    names = [shown(merging.result["file", (log.sha256,)]) for log in logs]
    lines += [MergeLine(f"log of {name}", "kept") for name in names]
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
    )
