"""Whose word counts for what: the rules by which a merge believes a share.

A share is the word of the key that signed it. Of an airframe, its owner may change
everything: flights, decisions, withdrawals, checks, weights, equipment. Of a type, its
coordinator may change everything: speeds, handbook and cruise tables, issues. A coordinator
may add flights and passed checks to the airframes of the type, and change them too only if
this store lets the coordinator decide. Whoever signs here counts as owner of what is this
store's own or nobody's, and as coordinator where none is named. To what is nobody's anybody
may add, but for a failed leak check, which bars flights. All else, and all that nobody
signed, is a conflict that the keeper of the store settles. What comes with an airframe or a
type that is not here yet contradicts nobody.

An owner's flights that a club passes on are the club's word: new ones are taken if the club
coordinates the type, changed ones only from the owner or if the club may decide. So one
signature for each file is enough, and no signature of an entry has to outlive the leaving out
of registrations, new columns and merged decisions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from fleetcal.store.exchange.entries import FLOWN, Entry, Key
from fleetcal.store.owner_rows import NOBODY, OWN, Owners

_OF_AIRFRAME: Final = (
    "airframe",
    "registration",
    "thermometer",
    "fit",
    "bench_check",
    "leak_check",
)
_OF_TYPE: Final = ("type", "static_source", "handbook", "cruise_table", "issue")


def airframe_of(entry: Entry) -> str | None:
    """Return the tag of the airframe that an entry is about, None if it is about none."""
    if entry.kind in FLOWN:
        return str(entry.key[1])
    return str(entry.key[0]) if entry.kind in _OF_AIRFRAME else None


def bars_flights(entry: Entry) -> bool:
    """Tell whether an entry is a failed leak check: it bars flights from every pool."""
    return entry.kind == "leak_check" and entry.content["loss_ft"] > entry.content["limit_ft"]


@dataclass(frozen=True, kw_only=True)
class Authority:
    """Whose word a share is, and whose counts here.

    Attributes:
        speaker: Public key that signed the share; empty if nobody did.
        own: Public key that signs here; empty if there is none yet.
        owners: As they are in this store, with what is granted in this merge.
        by_keys: By entry and digest: by whose word a content was replaced or left out, where that
            came with a share.
    """

    speaker: str
    own: str
    owners: Owners
    by_keys: Mapping[Key, Mapping[str, str]]

    def may_change(self, entry: Entry) -> bool:
        """Tell whether the speaker's word on an entry is taken."""
        return self._counts(self.speaker, entry)

    def may_add(self, entry: Entry) -> bool:
        """Tell whether an entry that is not here yet is taken from the speaker."""
        if self.may_change(entry):
            return True
        tag = airframe_of(entry)
        if tag is not None:
            coordinator = self.owners.coordinators.get(self.owners.types[tag], "")
            coordinates = self.speaker != "" and self.speaker == coordinator
            return not bars_flights(entry) and (self.owners.airframes[tag] == NOBODY or coordinates)
        if entry.kind in _OF_TYPE and entry.kind != "static_source":
            return not self.owners.coordinators[str(entry.key[0])]
        return True

    def is_disowned(self, entry: Entry) -> bool:
        """Tell whether a content was replaced by the word of somebody whose word does not count."""
        known = self.by_keys.get(entry.name, {})
        return any(
            digest in known and not self._counts(known[digest], entry) for digest in entry.digests
        )

    def whose(self, entry: Entry) -> str:
        """Say whose word counts for an entry."""
        tag = airframe_of(entry)
        if tag is not None:
            return f"{tag} is {self.in_words(self.owners.airframes.get(tag, NOBODY))}"
        if entry.kind in _OF_TYPE:
            key = self.owners.coordinators.get(str(entry.key[0]), "")
            by = self.owners.person(key).shown if key else "nobody"
            return f"{entry.key[0]} is coordinated by {by}"
        return "it belongs to no airframe or type"

    def in_words(self, owner: str) -> str:
        """Say whose an airframe is that has such an owner."""
        if owner == OWN:
            return "this store's own"
        if owner == NOBODY:
            return "nobody's"
        return f"that of {self.owners.person(owner).shown}"

    def speaker_in_words(self) -> str:
        """Say who speaks."""
        return self.owners.person(self.speaker).shown if self.speaker else "nobody who signed"

    def _counts(self, key: str, entry: Entry) -> bool:
        is_own = key != "" and key == self.own
        tag = airframe_of(entry)
        if tag is not None:
            owner = self.owners.airframes.get(tag)
            if owner is None:
                return True
            kind = self.owners.types[tag]
            decides = kind in self.owners.deciding and key == self.owners.coordinators[kind]
            return decides or (is_own if owner in (OWN, NOBODY) else key == owner)
        if entry.kind in _OF_TYPE:
            coordinator = self.owners.coordinators.get(str(entry.key[0]))
            if coordinator is None:
                return True
            return key == coordinator if coordinator else is_own
        return is_own or entry.kind in ("file", "engine")
