"""What two stores compare: entries known by a key, alike when their content is alike.

A key is made of names, days and hashes of files, never of a store's own row
numbers, so the same entry has the same key wherever it was entered.

Keys: type, engine, propeller: name. Static source: type, name. Airframe, registration,
thermometer: tag. Fit: tag, first day. Handbook table: type, static source, flap setting,
name. Cruise table: type, engine, propeller, name. File: SHA-256. Flights: file, tag.
Climbs: file, tag, kind, power state. Bench check: tag, instrument, day, file, content, how
many before it are alike. Leak check: tag, day, content, how many before it are alike.
Issue: type, group, flap setting, number.

Climbs are an entry of their own because their log may be reduced for climbs before its
points, or by somebody else. They hang on the sortie of their log, a bare one where nobody
reduced its points. What one log gave for one airframe is kept or left out together. A point
that nobody decided on has the moment of storing as its decision, which loses to any that
somebody took. That a power was forgotten is not carried.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Final

from fleetcal.store.term_owners import as_older

#: In the order in which one can refer to another.
KINDS: Final = (
    "type",
    "static_source",
    "engine",
    "propeller",
    "airframe",
    "registration",
    "thermometer",
    "fit",
    "handbook",
    "cruise_table",
    "file",
    "flights",
    "climbs",
    "bench_check",
    "leak_check",
    "issue",
)

#: What one file gave for one airframe; file and tag begin their keys.
FLOWN: Final = ("flights", "climbs")

Key = tuple[str, tuple[Any, ...]]


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One entry of a store, in values that JSON can carry.

    Attributes:
        kind: One of `KINDS`.
        key: Text and numbers that name it in every store.
        content: What it says; two stores agree on the entry when this is equal.
        state: What is merged by rule: when it was added, decisions, withdrawals.
        replaced: Digests of contents that this one was put in the place of, on purpose.
        rows: Where it lies in the store it was taken from; no part of what it is.
    """

    kind: str
    key: tuple[Any, ...]
    content: Mapping[str, Any]
    state: Mapping[str, Any] = field(default_factory=dict)
    replaced: frozenset[str] = frozenset()
    rows: tuple[int, ...] = field(default=(), compare=False)

    @property
    def name(self) -> Key:
        """Kind and key: what it is found by."""
        return self.kind, self.key

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the content as it is written."""
        return hashlib.sha256(self.written.encode("ascii")).hexdigest()

    @property
    def written(self) -> str:
        """The content as it is kept once it was replaced."""
        return canonical(_as_older(self.content) if self.kind == "flights" else self.content)

    @cached_property
    def digests(self) -> frozenset[str]:
        """By which other stores may know the content: `digest`, and that of former versions.

        Former versions counted the points of a flight from 1, not by run.
        """
        if self.kind != "flights":
            return frozenset({self.digest})
        return frozenset({self.digest, replace(self, content=_counted_on(self.content)).digest})


Entries = dict[Key, Entry]


def _as_older(flights: Mapping[str, Any]) -> dict[str, Any]:
    """Return flights with their terms as before owners were kept: digests are kept for years."""

    def older(point: Mapping[str, Any]) -> dict[str, Any]:
        return {**point, "terms": [as_older(term) for term in point.get("terms", ())]}

    sorties = flights["sorties"]
    return {
        **flights,
        "sorties": [{**s, "points": [older(p) for p in s["points"]]} for s in sorties],
    }


def _counted_on(flights: Mapping[str, Any]) -> dict[str, Any]:
    """Return flights with the points of each counted from 1."""
    sorties = [
        {**sortie, "points": [{**p, "number": i} for i, p in enumerate(sortie["points"], 1)]}
        for sortie in flights["sorties"]
    ]
    return {**flights, "sorties": sorties}


def canonical(value: Any) -> str:
    """Return JSON in the one way in which equal values give equal text.

    Args:
        value: Of dict, list, tuple, str, int, finite float, bool and None.

    Returns:
        ASCII; keys sorted, no blanks, floats in the shortest form that reads back the same.
    """
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    )


#: Digest of a content in which nobody said anything yet: whatever is said takes its place.
UNSAID: Final = Entry(kind="", key=(), content={}).digest


def by_name(entries: Mapping[Key, Entry]) -> list[Entry]:
    """Return entries in one order whatever order they came in: kinds first, then keys."""
    rank = {kind: i for i, kind in enumerate(KINDS)}
    return sorted(entries.values(), key=lambda one: (rank[one.kind], canonical(one.key)))


def shown(entry: Entry) -> str:
    """Return how an entry is called in messages."""
    key, kind = entry.key, entry.kind.replace("_", " ")
    if entry.kind == "file":
        return f"file {entry.state['name']}"
    if entry.kind == "flights":
        return f"flights of {key[1]} in file {str(key[0])[:12]}"
    if entry.kind == "climbs":
        return f"{key[2]}s of {key[1]} ({key[3]}) in file {str(key[0])[:12]}"
    if entry.kind == "bench_check":
        return f"{key[1]} bench check of {key[0]} on {key[2]}"
    if entry.kind == "leak_check":
        return f"leak check of {key[0]} on {key[1]}"
    if entry.kind == "fit":
        return f"fit of {key[0]} from {key[1]}"
    if entry.kind == "issue":
        return f"issue {key[3]} of {key[1]}, flaps {key[2]}"
    return f"{kind} " + " / ".join(str(part) for part in key)
