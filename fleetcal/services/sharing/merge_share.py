"""Take a share file into a store: all of it, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from fleetcal.errors import ConflictError, DataError
from fleetcal.services.sharing.share_format import ShareFile, read_share
from fleetcal.services.sharing.share_logs import SharedLog, keep_shared, logs_to_keep
from fleetcal.store import Store, list_logs
from fleetcal.store.exchange.merge_rules import Chooser, Conflict, Merging, Side, begin_merge
from fleetcal.store.exchange.put_in import put_in
from fleetcal.store.exchange.take_out import replaced_digests, take_out
from fleetcal.store.exchange.things import Key, Things, by_name, shown
from fleetcal.store.exchange.whole_checks import settle_across
from fleetcal.store.run_numbers import runs_of_points

__all__ = ["Choices", "MergeLine", "Merged", "Side", "merge", "read_share_file", "refuse_open"]


@dataclass(frozen=True)
class MergeLine:
    """What became of one thing."""

    what: str
    outcome: str


@dataclass(frozen=True, kw_only=True)
class Merged:
    """What a merge did or would do.

    Attributes:
        stored: False for a preview, or while a conflict is open.
        added, corrected, brought_up_to_date, unchanged: Things: new here, given another content,
            given a later decision or standing, alike.
        lines: All but what was added or was alike.
        conflicts: With the side chosen for each.
    """

    file: str
    stored: bool
    added: int
    corrected: int
    brought_up_to_date: int
    unchanged: int
    lines: tuple[MergeLine, ...]
    conflicts: tuple[Conflict, ...]

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
    open_it: Callable[[], Store], path: Path, choices: Choices, *, preview: bool = False
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
    theirs = file.things
    with open_it() as store:
        if preview:
            with store.reading() as session:
                merging = _merging(
                    take_out(session, *_scope(theirs)),
                    theirs,
                    replaced_digests(session),
                    choices.side,
                )
                logs = logs_to_keep(list_logs(session), file.logs, merging.result)
            _refuse_idle_choices(merging, choices)
            return _told(merging, path.name, logs, stored=False)
        with store.writing() as session:
            mine = take_out(session, *_scope(theirs))
            merging = _merging(mine, theirs, replaced_digests(session), choices.side)
            _refuse_idle_choices(merging, choices)
            logs = logs_to_keep(list_logs(session), file.logs, merging.result)
            told = _told(merging, path.name, logs, stored=True)
            if told.open:
                return replace(told, stored=False)
            put_in(session, merging, f"merge of {path.name}", datetime.now(UTC))
            for log in logs:
                keep_shared(session, log)
    return told


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


def _scope(theirs: Things) -> tuple[set[str], set[str]]:
    """Return the tags and files that a merge has to look at in my store."""
    tags = {name for kind, (name, *_) in theirs if kind == "airframe"}
    return tags, {name for kind, (name, *_) in theirs if kind == "file"}


def _merging(
    mine: Things, theirs: Things, gone: Mapping[Key, frozenset[str]], choose: Chooser
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
    for thing in by_name(merging.result):
        own = merging.mine.get(thing.name)
        if thing.kind != "flights" or (own is not None and own.state == thing.state):
            continue
        if any(runs_of_points(s["points"], s["legs"]) is None for s in thing.content["sorties"]):
            yield MergeLine(shown(thing), "its legs do not tell the runs of its points")
        doubts = {p["doubt"] for s in thing.state["sorties"] for p in s["powers"] if p}
        for doubt in sorted(doubts - {""}):
            yield MergeLine(shown(thing), f"a power is left out of cruise: {doubt}")


def _told(merging: Merging, file: str, logs: Sequence[SharedLog], *, stored: bool) -> Merged:
    counts = {"added": 0, "corrected": 0, "brought up to date": 0, "unchanged": 0}
    lines = []
    for thing in by_name(merging.result):
        own = merging.mine.get(thing.name)
        if own is None:
            counts["added"] += 1
            continue
        if own.digest == thing.digest and own.state == thing.state:
            counts["unchanged"] += thing.name in merging.theirs
            continue
        outcome = "corrected" if own.digest != thing.digest else "brought up to date"
        counts[outcome] += 1
        lines.append(MergeLine(shown(thing), outcome))
    lines += [
        MergeLine(shown(thing), "left out by choice")
        for name, thing in {**merging.mine, **merging.theirs}.items()
        if name not in merging.result and thing not in merging.left_out
    ]
    lines += [MergeLine(shown(t), "left out: replaced before") for t in merging.left_out]
    lines += _doubtful(merging)
    names = [shown(merging.result["file", (log.sha256,)]) for log in logs]
    lines += [MergeLine(f"log of {name}", "kept") for name in names]
    return Merged(
        file=file,
        stored=stored,
        added=counts["added"],
        corrected=counts["corrected"],
        brought_up_to_date=counts["brought up to date"],
        unchanged=counts["unchanged"],
        lines=tuple(lines),
        conflicts=tuple(merging.conflicts),
    )
