"""Flights and climbs of a share held against the gate that every point has to pass.

What is doubted comes in as not accepted, as if nobody had decided on it: a decision that
somebody takes in this store stands against it, and so does the owner's own in his store.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from fleetcal.records import Climb
from fleetcal.services.plausible_point import HeldAgainst, doubt_of
from fleetcal.store.exchange.entries import FLOWN, Entries, Entry
from fleetcal.store.undescribed import weight_is_supposed


def doubted_entries(theirs: Entries, mine: Entries) -> Entries:
    """Return the entries of a share with doubted points and climbs not accepted.

    Args:
        mine: Whose reference weights count where a type is in both.
    """
    return {
        name: _doubted(entry, theirs, mine) if entry.kind in FLOWN else entry
        for name, entry in theirs.items()
    }


def doubts_in_words(entry: Entry, entries: Entries) -> Iterator[str]:
    """Yield what of an entry the gate took back, in words.

    Args:
        entries: With its airframe and type.
    """
    for number, decision, doubt in _doubts(entry, _kind_of(entry, entries, entries)):
        if doubt and not decision["accepted"] and decision["reason"] == doubt:
            yield f"{_called(entry)} {number} is not accepted: {doubt}"


def _doubted(entry: Entry, theirs: Entries, mine: Entries) -> Entry:
    kind = _kind_of(entry, theirs, mine)
    taken = {
        id(decision): {"accepted": False, "reason": doubt, "decided_at": None}
        for _, decision, doubt in _doubts(entry, kind)
        if doubt and decision["accepted"]
    }
    if not taken:
        return entry

    def with_doubts(state: Mapping[str, Any]) -> dict[str, Any]:
        decisions = [taken.get(id(one), one) for one in state["decisions"]]
        return {**state, "decisions": decisions}

    if entry.kind == "climbs":
        return replace(entry, state=with_doubts(entry.state))
    sorties = [with_doubts(state) for state in entry.state["sorties"]]
    return replace(entry, state={**entry.state, "sorties": sorties})


def _doubts(entry: Entry, known: HeldAgainst) -> Iterator[tuple[int, Mapping[str, Any], str]]:
    """Yield number, decision and doubt of every point or climb of an entry."""
    if entry.kind == "climbs":
        flown = replace(known, flown_on=date.fromisoformat(entry.content["flown_on"]))
        pairs = zip(entry.content["climbs"], entry.state["decisions"], strict=True)
        for number, (climb, decision) in enumerate(pairs, 1):
            yield number, decision, doubt_of(climb, flown, Climb)
        return
    for sortie, state in zip(entry.content["sorties"], entry.state["sorties"], strict=True):
        flown = replace(known, flown_on=date.fromisoformat(sortie["flown_on"]))
        for point, decision in zip(sortie["points"], state["decisions"], strict=True):
            yield point["number"], decision, doubt_of(point, flown)


def _called(entry: Entry) -> str:
    return "climb or glide" if entry.kind == "climbs" else "point"


def _kind_of(entry: Entry, theirs: Entries, mine: Entries) -> HeldAgainst:
    """Return name and reference weight of the type that flew."""
    airframe = theirs.get(("airframe", entry.key[1:2])) or mine.get(("airframe", entry.key[1:2]))
    name = airframe.content["type"] if airframe is not None else ""
    kind = mine.get(("type", (name,))) or theirs.get(("type", (name,)))
    if kind is None or weight_is_supposed(kind.content["note"]):
        return HeldAgainst(type_name=name, reference_kg=np.nan)
    return HeldAgainst(type_name=name, reference_kg=kind.content["reference_weight_kg"])
