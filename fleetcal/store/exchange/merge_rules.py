"""Merge the entries of two stores: alike, added, corrected, or in conflict.

A content wins without a choice only if it is known to have been put in the place
of the other one, by somebody whose word counts for it. Two contents that do not know of
each other are a conflict, and so is all that others would add, change or decide.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import Any, Literal

from fleetcal.store.exchange.authority import Authority
from fleetcal.store.exchange.carry_decisions import carried_state
from fleetcal.store.exchange.differences import differences, state_differences, summary
from fleetcal.store.exchange.entries import (
    FLOWN,
    UNSAID,
    Entries,
    Entry,
    Key,
    by_name,
    canonical,
    shown,
)
from fleetcal.store.exchange.merge_state import merged_state, unchanged_state
from fleetcal.store.exchange.unsaid_contents import unsaid_digests

Side = Literal["mine", "theirs"]
Chooser = Callable[[str], Side | None]


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """Something that two stores say differently.

    Attributes:
        conflict: Its number: the same whenever the same two contents meet.
        mine, theirs: What each side says, or what choosing it does.
        chosen: ``mine``, ``theirs``, or empty while nobody has chosen.
    """

    conflict: str
    what: str
    mine: str
    theirs: str
    chosen: str = ""


@dataclass(kw_only=True)
class Merging:
    """A merge under way.

    Attributes:
        mine, theirs: As they were.
        result: Begins as mine.
        choose: Tells the side chosen for a conflict's number, None if nobody chose.
        left_out: Of theirs, because they were replaced or left out before.
        replaced: By entry and digest: what is replaced in this merge.
        settled: Likewise: what was put aside by choice of who keeps this store.
        authority: Whose word the share is, and whose counts; every word counts where it is None.
        given: By kind and name: owners of airframes and types that are new.
    """

    mine: Mapping[Key, Entry]
    theirs: Mapping[Key, Entry]
    choose: Chooser
    result: Entries = field(default_factory=dict)
    conflicts: list[Conflict] = field(default_factory=list)
    left_out: list[Entry] = field(default_factory=list)
    replaced: dict[tuple[Key, str], str | None] = field(default_factory=dict)
    settled: set[tuple[Key, str]] = field(default_factory=set)
    authority: Authority | None = None
    given: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def counts(self, entry: Entry) -> bool:
        """Tell whether the word of the share on an entry is taken."""
        return self.authority is None or self.authority.may_change(entry)

    def may_add(self, entry: Entry) -> bool:
        """Tell whether an entry that is not here yet is taken."""
        return self.authority is None or self.authority.may_add(entry)

    def ask(self, one: Entry, other: Entry, what: str, mine: str, theirs: str) -> Side | None:
        """List a conflict and return the side chosen."""
        return self.ask_by_number(conflict_number(one, other), what, mine, theirs)

    def ask_by_number(self, number: str, what: str, mine: str, theirs: str) -> Side | None:
        """List a conflict of a number and return the side chosen."""
        if any(known.conflict == number for known in self.conflicts):
            return self.choose(number)
        side = self.choose(number)
        self.conflicts.append(
            Conflict(conflict=number, what=what, mine=mine, theirs=theirs, chosen=side or "")
        )
        return side

    def replace_content(self, entry: Entry) -> None:
        """Remember that a content is no longer to be taken for the entry."""
        self.replaced[entry.name, entry.digest] = entry.written

    def drop(self, entry: Entry) -> None:
        """Take an entry out of the result, so that it does not come back by itself."""
        self.result.pop(entry.name, None)
        self.replace_content(entry)


def conflict_number(one: Entry, other: Entry) -> str:
    """Return what a conflict is chosen by; which side is mine does not matter.

    Returns:
        8 hexadecimal digits.
    """
    sides = sorted([one.kind, list(one.key), one.digest] for one in (one, other))
    return sha256(canonical(sides).encode("ascii")).hexdigest()[:8]


def _number_of(*parts: Any) -> str:
    return sha256(canonical(parts).encode("ascii")).hexdigest()[:8]


def begin_merge(
    mine: Mapping[Key, Entry],
    theirs: Mapping[Key, Entry],
    gone: Mapping[Key, frozenset[str]],
    choose: Chooser,
    authority: Authority | None = None,
) -> Merging:
    """Merge entry by entry; what concerns several entries is for `cross_checks`.

    Args:
        mine, theirs: Entries by kind and key.
        gone: Digests replaced in my store, of entries that are gone among them.
        choose: Tells the side chosen for a conflict's number, None if nobody chose.
        authority: Whose word counts; every word where it is None.
    """
    merging = Merging(
        mine=mine, theirs=theirs, choose=choose, result=dict(mine), authority=authority
    )
    groups: dict[Any, list[Entry]] = {}
    for entry in by_name(theirs):
        own = mine.get(entry.name)
        if own is not None:
            merging.result[own.name] = _merged(merging, own, entry)
        elif entry.digests & gone.get(entry.name, frozenset()) and not _outweighs(merging, entry):
            merging.left_out.append(entry)
        else:
            group = entry.key[:2] if entry.kind in FLOWN else entry.name
            groups.setdefault(group, []).append(entry)
    for new in groups.values():
        _add(merging, new, gone)
    return merging


def _outweighs(merging: Merging, entry: Entry) -> bool:
    """Tell whether the word on an entry counts against that of others who replaced it."""
    authority = merging.authority
    return authority is not None and authority.may_change(entry) and authority.is_disowned(entry)


def _add(merging: Merging, new: list[Entry], gone: Mapping[Key, frozenset[str]]) -> None:
    """Add what one file gave for one airframe, or another entry, if its speaker may."""
    authority = merging.authority
    if authority is not None and not all(authority.may_add(entry) for entry in new):
        number = _number_of("added", [[e.kind, list(e.key), e.digest, e.state] for e in new])
        what = (
            f"{' and '.join(_dated(entry) for entry in new)}: would be new, by "
            f"{authority.speaker_in_words()}; {authority.whose(new[0])}"
        )
        brings = "; ".join(summary(entry) for entry in new)
        side = merging.ask_by_number(number, what, "leave it out", f"take it: {brings}")
        if side != "theirs":
            for entry in new if side == "mine" else ():
                merging.drop(entry)
            return
    for entry in new:
        known = entry.replaced | gone.get(entry.name, frozenset())
        merging.result[entry.name] = replace(entry, replaced=known - {entry.digest})


def _dated(entry: Entry) -> str:
    """Return how an entry is called, flights with their days."""
    if entry.kind != "flights":
        return shown(entry)
    days = sorted({sortie["flown_on"] for sortie in entry.content["sorties"]})
    return f"{shown(entry)}, flown on {' and '.join(days)}"


def _merged(merging: Merging, own: Entry, other: Entry) -> Entry:
    if own.digest == other.digest:
        return _alike(merging, own, other)
    own_later, other_later = (
        bool(a.digests & (b.replaced | unsaid_digests(b))) for a, b in ((other, own), (own, other))
    )
    if not merging.counts(other):
        return _by_another(merging, own, other, is_replaced=own_later)
    is_healed = own_later and not other_later and _outweighs(merging, other)
    if own_later != other_later and not is_healed:
        return _in_place_of(merging, *((own, other) if own_later else (other, own)))
    what = shown(own)
    if is_healed and merging.authority is not None:
        what += (
            f": {merging.authority.speaker_in_words()} says it, whose word counts; what is here "
            "came with a share of somebody else"
        )
    side = merging.ask(own, other, what, *differences(own, other))
    if side is None:
        return own
    if side == "mine" and is_healed:
        merging.settled |= {(other.name, digest) for digest in other.digests}
    return _in_place_of(merging, *((own, other) if side == "mine" else (other, own)))


def _alike(merging: Merging, own: Entry, other: Entry) -> Entry:
    """Merge what is decided of contents that are alike."""
    state = merged_state(own.kind, own.state, other.state)
    if merging.counts(other):
        both = (own.replaced | other.replaced) - {own.digest}
        return replace(own, state=state, replaced=both)
    kept = unchanged_state(own.kind, own.state, state)
    written = canonical(other.state)
    digest = sha256(written.encode("ascii")).hexdigest()
    if kept == state or digest in own.replaced:  # refused before
        return replace(own, state=kept)
    assert merging.authority is not None  # else every word counts
    sides = [[own.digest, own.state], [other.digest, other.state]]
    number = _number_of("decided", own.kind, own.key, sides)
    what = (
        f"{_dated(own)}: decided on by {merging.authority.speaker_in_words()}; "
        f"{merging.authority.whose(own)}"
    )
    theirs = state_differences(own.state, state)
    side = merging.ask_by_number(number, what, "leave it as it is", theirs)
    if side == "mine":
        merging.replaced[own.name, digest] = written
        return replace(own, state=kept, replaced=own.replaced | {digest})
    return replace(own, state=state if side == "theirs" else kept)


def _by_another(merging: Merging, own: Entry, other: Entry, *, is_replaced: bool) -> Entry:
    """Merge with the content of somebody whose word does not count for it."""
    if is_replaced:  # or put aside before
        return own
    if own.kind == "propeller" and own.digest == UNSAID:  # a pitch that nobody said
        return _in_place_of(merging, other, own)
    assert merging.authority is not None  # else every word counts
    what = (
        f"{_dated(own)}: said otherwise by {merging.authority.speaker_in_words()}; "
        f"{merging.authority.whose(own)}"
    )
    side = merging.ask(own, other, what, *differences(own, other))
    if side == "theirs":
        return _in_place_of(merging, other, own)
    if side == "mine":
        merging.replace_content(other)
        return replace(own, replaced=own.replaced | {other.digest})
    return own


def _in_place_of(merging: Merging, winner: Entry, loser: Entry) -> Entry:
    merging.replace_content(loser)
    known = (winner.replaced | loser.replaced | {loser.digest}) - {winner.digest}
    return replace(winner, state=carried_state(winner, loser), replaced=known)
