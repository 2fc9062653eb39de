"""Name one by one what a share adds: airframe, day, sortie, by whom."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fleetcal.store.exchange.authority import airframe_of
from fleetcal.store.exchange.entries import Entries, Entry, Key, by_name, shown
from fleetcal.wording import counted


@dataclass(frozen=True, kw_only=True)
class NamedAddition:
    """One flight, check or description that is new in a store.

    Attributes:
        airframe: Tag; empty for what is of no airframe.
        flown_on: Day of a flight, YYYY-MM-DD; empty for what is no flight.
        sortie: Number of the flight in its file, None for what is no flight.
        by: Who signed the share.
    """

    what: str
    airframe: str
    flown_on: str
    sortie: int | None
    by: str


def additions(entries: Entries, known: Mapping[Key, Entry], by: str) -> tuple[NamedAddition, ...]:
    """Return what is new.

    Args:
        entries: Result of a merge.
        known: What the store had.
        by: Who signed, in words.
    """
    new = [entry for entry in by_name(entries) if entry.name not in known]
    return tuple(one for entry in new for one in _named(entry, entries, by))


def _named(entry: Entry, entries: Entries, by: str) -> Iterator[NamedAddition]:
    tag = airframe_of(entry) or ""
    if entry.kind == "flights":
        file = entries["file", (entry.key[0],)].state["name"]
        pairs = zip(entry.content["sorties"], entry.state["sorties"], strict=True)
        for number, (sortie, state) in enumerate(pairs, 1):
            out = sum(not decision["accepted"] for decision in state["decisions"])
            points = counted(len(sortie["points"]), "point") + (f", {out} left out" if out else "")
            yield NamedAddition(
                what=f"flight {file}: {points}",
                airframe=tag,
                flown_on=sortie["flown_on"],
                sortie=number,
                by=by,
            )
    elif entry.kind == "climbs":
        file = entries["file", (entry.key[0],)].state["name"]
        yield NamedAddition(
            what=f"{counted(len(entry.content['climbs']), str(entry.key[2]))} in {file}",
            airframe=tag,
            flown_on=entry.content["flown_on"],
            sortie=None,
            by=by,
        )
    else:
        yield NamedAddition(what=shown(entry), airframe=tag, flown_on="", sortie=None, by=by)
