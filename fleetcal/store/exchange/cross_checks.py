"""Conflicts between different entries: what a merge must not bring about without a choice.

They are one log for two airframes, the same points from two files, two standing bench
checks of one day, and equipment that would change under stored flights.

Points are the same here if they are equal to the last digit, one of them enough, while a new file
is held against stored flights by nearness of most (`fleetcal.store.same_flight`). One rule cannot
serve both. A merge must come out the same whichever store makes it, in any order and however
often, and nearness does not carry over: where A is near B and B near C but A not C, the order
would decide which of them stay. Nor may a merge ask about flights that two careful people reduced
from two savings of one log, which are for whoever adds the file to tell. And equal values are
looked up, so that a share of 100,000 points takes no longer for it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from fleetcal.errors import DataError
from fleetcal.store.exchange.cross_checks_of_climbs import days_of, settle_climbs
from fleetcal.store.exchange.entries import FLOWN, Entry, Key, by_name, shown
from fleetcal.store.exchange.merge_rules import Merging
from fleetcal.store.undescribed import is_undescribed

_ONE_FLIGHT = ("log", "leg_sheet")
_EQUIPMENT = ("static_source", "engine", "propeller", "pitot")
_SECOND_CHECK = "another check of that day was chosen when stores were merged"


def settle_across(merging: Merging) -> None:
    """Find conflicts between entries, and settle those that somebody chose a side for.

    Args:
        merging: Changed in place.

    Raises:
        DataError: If a fit would be left with a static source of another type.
    """
    _one_log_two_airframes(merging)
    _points_from_two_files(merging)
    _two_bench_checks(merging)
    _other_equipment(merging)
    settle_climbs(merging)
    _refuse_strange_sources(merging)
    _forget_idle_files(merging)


def _new(merging: Merging, kind: str) -> list[Entry]:
    """Return the entries of a kind that only the other store had."""
    return [t for t in by_name(merging.result) if t.kind == kind and t.name not in merging.mine]


def _own(merging: Merging, kind: str) -> list[Entry]:
    return [t for t in by_name(merging.result) if t.kind == kind and t.name in merging.mine]


def _flown(merging: Merging, *, mine: bool) -> list[list[Entry]]:
    """Return what each file gave for each airframe: flights first, then climbs and glides."""
    groups: dict[tuple[Any, ...], list[Entry]] = defaultdict(list)
    for entry in by_name(merging.result):
        if entry.kind in FLOWN and (entry.name in merging.mine) == mine:
            groups[entry.key[:2]].append(entry)
    return list(groups.values())


def _keep_one(merging: Merging, own: list[Entry], new: list[Entry], what: str) -> None:
    """Let what one of two files gave stay, by choice."""
    one, other = own[0], new[0]
    side = merging.ask(one, other, what, f"keep the {shown(one)}", f"take the {shown(other)}")
    if side is not None:
        _drop(merging, new if side == "mine" else own)


def _drop(merging: Merging, group: list[Entry]) -> None:
    for entry in group:
        merging.drop(entry)


def _one_log_two_airframes(merging: Merging) -> None:
    owners: dict[str, list[list[Entry]]] = defaultdict(list)
    for own in _flown(merging, mine=True):
        owners[own[0].key[0]].append(own)
    for new in _flown(merging, mine=False):
        sha256, tag = new[0].key[:2]
        file = merging.result[("file", (sha256,))]
        if file.content["kind"] not in _ONE_FLIGHT:
            continue
        for own in owners.get(sha256, []):
            if own[0].name in merging.result and own[0].key[1] != tag:
                _keep_one(merging, own, new, f"{shown(file)}: one flight, two airframes")


def _points_from_two_files(merging: Merging) -> None:
    """Find points and climbs that would weigh too much because they came twice."""
    known: dict[tuple[Any, ...], list[Entry]] = {}
    for own in _flown(merging, mine=True):
        known |= dict.fromkeys(_measured(own), own)
    for new in _flown(merging, mine=False):
        marks = [mark for mark in _measured(new) if mark in known]
        twins = {known[mark][0].name: known[mark] for mark in marks}
        for own in twins.values():
            if own[0].name in merging.result and new[0].name in merging.result:
                _keep_one(
                    merging, own, new, f"the same {marks[0][0]} of {new[0].key[1]} from two files"
                )


def _measured(group: list[Entry]) -> Iterator[tuple[Any, ...]]:
    for entry in group:
        yield from _points(entry) if entry.kind == "flights" else _rates(entry)


def _rates(entry: Entry) -> Iterator[tuple[Any, ...]]:
    _, tag, kind, power_state = entry.key
    for c in entry.content["climbs"]:
        flown = ("climbs", tag, entry.content["flown_on"], kind, power_state, c["flap_setting"])
        yield *flown, c["vic_kt"], c["rate_ftmin"], c["u_own_ftmin"]


def _points(entry: Entry) -> Iterator[tuple[Any, ...]]:
    for sortie in entry.content["sorties"]:
        for p in sortie["points"]:
            flown = ("points", entry.key[1], sortie["flown_on"], p["flap_setting"])
            yield *flown, p["vic_kt"], p["kappa"], p["u_kappa"]


def _two_bench_checks(merging: Merging) -> None:
    standing: dict[tuple[str, ...], Entry] = {}
    for own in _own(merging, "bench_check"):
        if not own.state["withdrawn"]:
            standing[own.key[:3]] = own
    for new in _new(merging, "bench_check"):
        own_check = standing.get(new.key[:3])
        if own_check is None or new.state["withdrawn"]:
            continue
        what = f"two checks of one day: {shown(new)}"
        sides = [f"u {t.content['u']:g}, {len(t.content['rows'])} lines" for t in (own_check, new)]
        side = merging.ask(own_check, new, what, *sides)
        if side is not None:
            loser = new if side == "mine" else own_check
            state = {**loser.state, "withdrawn": _SECOND_CHECK}
            merging.result[loser.name] = replace(loser, state=state)
            if side == "theirs":
                standing[new.key[:3]] = new


def _forget_idle_files(merging: Merging) -> None:
    """Let go of files whose flights were all left out: known, they could not be read again."""
    place = {**dict.fromkeys(FLOWN, 0), "bench_check": 3}  # of the file in a key
    used = {t.key[place[t.kind]] for t in merging.result.values() if t.kind in place}
    dropped = {name for name, _ in merging.replaced} | {t.name for t in merging.left_out}
    for kind, key in dropped:
        if kind in place:
            file = ("file", (key[place[kind]],))
            if key[place[kind]] not in used and file not in merging.mine:
                merging.result.pop(file, None)


def _other_equipment(merging: Merging) -> None:
    """Flights must not find themselves under other equipment than they were stored with."""
    for group in [*_flown(merging, mine=True), *_flown(merging, mine=False)]:
        is_mine = group[0].name in merging.mine
        tag = group[0].key[1]
        before = _fits(merging.mine if is_mine else merging.theirs, tag)
        now = _fits(merging.result, tag)
        if before == now:
            continue
        for day in (day for entry in group for day in days_of(entry)):
            old, new = _in_force(before, day), _in_force(now, day)
            if old is not None and new is not None and _carries_other(old, new):
                _choose_equipment(merging, group, old, new, is_mine)
                break


def _choose_equipment(
    merging: Merging, group: list[Entry], old: Entry, new: Entry, is_mine: bool
) -> None:
    if old.name == new.name and _was_chosen(merging, old, new):
        return
    flights = group[0]
    what = f"{shown(flights)}: stored as flown with {_words(old)}, would count as {_words(new)}"
    if is_mine:
        mine, theirs = f"leave the {shown(new)} as it is here", f"count them under the {shown(new)}"
    else:
        mine, theirs = "leave these flights out", f"count them under the {shown(new)}"
    side = merging.ask(flights, new, what, mine, theirs)
    if side != "mine":
        return
    if not is_mine:
        _drop(merging, group)
    elif new.name in merging.mine:
        merging.result[new.name] = merging.mine[new.name]
    else:
        merging.drop(new)


def _was_chosen(merging: Merging, old: Entry, new: Entry) -> bool:
    """Tell whether the fit's own contents were in conflict, so that a choice was made or asked."""
    return old.digest not in new.replaced or any(
        c.chosen and c.what == shown(new) for c in merging.conflicts
    )


def _fits(entries: Mapping[Key, Entry], tag: str) -> list[Entry]:
    found = [t for t in entries.values() if t.kind == "fit" and t.key[0] == tag]
    return sorted(found, key=lambda t: str(t.key[1]))


def _in_force(fits: list[Entry], day: str) -> Entry | None:
    begun = [fit for fit in fits if fit.key[1] <= day]
    return begun[-1] if begun else None


def _carries(fit: Entry) -> tuple[str, ...]:
    return tuple(fit.content[name] for name in _EQUIPMENT)


def _carries_other(old: Entry, new: Entry) -> bool:
    """Tell whether a fit contradicts what another describes; it may fill in what that leaves."""
    left_open = {name for name in _EQUIPMENT if is_undescribed(old.content[name])}
    if left_open and not old.content["pitot"]:
        left_open.add("pitot")
    return any(
        old.content[name] != new.content[name] for name in _EQUIPMENT if name not in left_open
    )


def _words(fit: Entry) -> str:
    return " / ".join(part for part in _carries(fit) if part)


def _refuse_strange_sources(merging: Merging) -> None:
    for fit in [one for one in merging.result.values() if one.kind == "fit"]:
        kind = merging.result[("airframe", (fit.key[0],))].content["type"]
        port = Entry(
            kind="static_source",
            key=(kind, fit.content["static_source"]),
            content={"description": ""},
        )
        if port.name not in merging.result and is_undescribed(port.key[1]):
            merging.result[port.name] = port
        elif port.name not in merging.result:
            raise DataError(
                f"{shown(fit)}: its static source is not one of the type {kind}",
                "choose the same side for the airframe and its fits",
            )
