"""What must hold between the climbs of a log and the flights of it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import Any

from fleetcal.store.exchange.entries import Entry, by_name, shown
from fleetcal.store.exchange.merge_rules import Merging
from fleetcal.store.exchange.merge_state import first_sortie


def settle_climbs(merging: Merging) -> None:
    """Let the climbs of a log have the day of its flights, and one sortie.

    Args:
        merging: Changed in place. Another day is a conflict; a sortie that holds nothing but climbs
            makes place for the flights of the same log.
    """
    groups: dict[tuple[Any, ...], list[Entry]] = defaultdict(list)
    for climbs in _climbs(merging):
        flights = merging.result.get(("flights", climbs.key[:2]))
        if flights is not None and climbs.content["flown_on"] not in days_of(flights):
            _choose_day(merging, climbs, flights)
    for climbs in _climbs(merging):
        if ("flights", climbs.key[:2]) in merging.result:
            _set_sortie(merging, climbs, None)
        else:
            groups[*climbs.key[:2], climbs.content["flown_on"]].append(climbs)
    for group in groups.values():
        first = first_sortie(climbs.state["sortie"] for climbs in group)
        for climbs in group:
            _set_sortie(merging, climbs, first)


def days_of(entry: Entry) -> list[str]:
    """Return the days that flights or climbs were flown on."""
    if entry.kind == "climbs":
        return [entry.content["flown_on"]]
    return [sortie["flown_on"] for sortie in entry.content["sorties"]]


def _climbs(merging: Merging) -> list[Entry]:
    return [entry for entry in by_name(merging.result) if entry.kind == "climbs"]


def _choose_day(merging: Merging, climbs: Entry, flights: Entry) -> None:
    own, new = (climbs, flights) if climbs.name in merging.mine else (flights, climbs)
    sides = [f"{shown(t)}, flown on {', '.join(days_of(t))}" for t in (own, new)]
    what = f"one log, two days: climbs and flights of {climbs.key[1]}"
    side = merging.ask(own, new, what, f"keep the {sides[0]}", f"take the {sides[1]}")
    if side == "mine" and new.name in merging.mine:
        merging.replace_content(new)
        merging.result[new.name] = merging.mine[new.name]
    elif side is not None:
        merging.drop(new if side == "mine" else own)


def _set_sortie(merging: Merging, climbs: Entry, sortie: Any) -> None:
    if climbs.state["sortie"] != sortie:
        state = {**climbs.state, "sortie": sortie}
        merging.result[climbs.name] = replace(climbs, state=state)
