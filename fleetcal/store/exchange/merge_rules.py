"""Merge the entries of two stores: alike, added, corrected, or in conflict.

A content wins without a choice only if it is known to have been put in the place
of the other one. Two contents that do not know of each other are a conflict.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import Any, Literal

from fleetcal.store.exchange.carry_decisions import carried_state
from fleetcal.store.exchange.entries import Entries, Entry, Key, by_name, canonical, shown
from fleetcal.store.exchange.merge_state import merged_state
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
    """

    mine: Mapping[Key, Entry]
    theirs: Mapping[Key, Entry]
    choose: Chooser
    result: Entries = field(default_factory=dict)
    conflicts: list[Conflict] = field(default_factory=list)
    left_out: list[Entry] = field(default_factory=list)
    replaced: dict[tuple[Key, str], str | None] = field(default_factory=dict)

    def ask(self, one: Entry, other: Entry, what: str, mine: str, theirs: str) -> Side | None:
        """List a conflict and return the side chosen."""
        number = conflict_number(one, other)
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


def begin_merge(
    mine: Mapping[Key, Entry],
    theirs: Mapping[Key, Entry],
    gone: Mapping[Key, frozenset[str]],
    choose: Chooser,
) -> Merging:
    """Merge entry by entry; what concerns several entries is for `cross_checks`.

    Args:
        mine, theirs: Entries by kind and key.
        gone: Digests replaced in my store, of entries that are gone among them.
        choose: Tells the side chosen for a conflict's number, None if nobody chose.
    """
    merging = Merging(mine=mine, theirs=theirs, choose=choose, result=dict(mine))
    for entry in by_name(theirs):
        own = mine.get(entry.name)
        if own is not None:
            merging.result[own.name] = _merged(merging, own, entry)
        elif entry.digests & gone.get(entry.name, frozenset()):
            merging.left_out.append(entry)
        else:
            known = entry.replaced | gone.get(entry.name, frozenset())
            merging.result[entry.name] = replace(entry, replaced=known - {entry.digest})
    return merging


def _merged(merging: Merging, own: Entry, other: Entry) -> Entry:
    if own.digest == other.digest:
        state = merged_state(own.kind, own.state, other.state)
        both = (own.replaced | other.replaced) - {own.digest}
        return replace(own, state=state, replaced=both)
    own_later, other_later = (
        bool(a.digests & (b.replaced | unsaid_digests(b))) for a, b in ((other, own), (own, other))
    )
    if own_later != other_later:
        return _in_place_of(merging, *((own, other) if own_later else (other, own)))
    side = merging.ask(own, other, shown(own), *differences(own, other))
    if side is None:
        return own
    return _in_place_of(merging, *((own, other) if side == "mine" else (other, own)))


def _in_place_of(merging: Merging, winner: Entry, loser: Entry) -> Entry:
    merging.replace_content(loser)
    known = (winner.replaced | loser.replaced | {loser.digest}) - {winner.digest}
    return replace(winner, state=carried_state(winner, loser), replaced=known)


def differences(own: Entry, other: Entry) -> tuple[str, str]:
    """Return in words what two contents of one entry say differently."""
    if own.kind == "flights":
        return _flights_in_words(own), _flights_in_words(other)
    if own.kind == "climbs":
        return _climbs_in_words(own), _climbs_in_words(other)
    names = sorted(
        name
        for name in own.content.keys() | other.content.keys()
        if own.content.get(name) != other.content.get(name)
    )
    return _values_in_words(own, names), _values_in_words(other, names)


def _values_in_words(entry: Entry, names: list[str]) -> str:
    parts = (f"{name} {_short(entry.content.get(name))}" for name in names)
    return ", ".join(parts)


def _short(value: Any) -> str:
    text = canonical(value) if not isinstance(value, str) else value or "(blank)"
    return text if len(text) <= 60 else f"{text[:57]}..."


def _flights_in_words(entry: Entry) -> str:
    sorties = entry.content["sorties"]
    points = [point for sortie in sorties for point in sortie["points"]]
    weights = ", ".join(sorted({f"{sortie['weight_kg']:g} kg" for sortie in sorties}))
    kappas = ", ".join(f"{point['kappa']:+.4f}" for point in points[:3])
    return f"{len(points)} points at {weights}, kappa {kappas}" + (
        ", ..." if len(points) > 3 else ""
    )


def _climbs_in_words(entry: Entry) -> str:
    climbs = entry.content["climbs"]
    rates = ", ".join(f"{climb['rate_ftmin']:+.0f}" for climb in climbs[:3])
    more = ", ..." if len(climbs) > 3 else ""
    return f"{len(climbs)} on {entry.content['flown_on']}, {rates}{more} ft/min"
