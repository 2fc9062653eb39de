"""Laws of merging, on things alone: twice is once, no order matters, nothing is lost."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.store.exchange.cross_checks import settle_across
from fleetcal.store.exchange.entries import Entries, Entry, Key
from fleetcal.store.exchange.merge_rules import Conflict, begin_merge

pytestmark = pytest.mark.long

TAGS = ("C-01", "C-02")
NOBODY = {"accepted": True, "reason": "", "decided_at": None}
RATE = {"vic_kt": 60.0, "rate_ftmin": 500.0, "u_own_ftmin": 9.0, "flap_setting": "up"}
FIT = {"engine": "e", "propeller": "p", "pitot": ""}


def moments() -> st.SearchStrategy[str]:
    return st.integers(0, 5).map(lambda hour: f"2024-05-06T0{hour}:00:00.000000+00:00")


def reasons() -> st.SearchStrategy[str]:
    return st.sampled_from(["", "", "leak", "wrong day", "leak; wrong day"])


@st.composite
def decisions(draw: st.DrawFn) -> dict[str, Any]:
    accepted = draw(st.booleans())
    reason = "" if accepted else draw(st.sampled_from(["loose", "rough"]))
    return {"accepted": accepted, "reason": reason, "decided_at": draw(st.none() | moments())}


def reduction(word: str, again: bool) -> dict[str, Any]:
    """What follows from a file; reduced again, the second run is another one."""
    starts = (0.0, 500.0) if again else (10.0, 300.0)
    points = [
        {
            "technique": "gps legs",
            "vic_kt": 60.0 + i,
            "kappa": len(word) / 10 + again / 100,
            "u_kappa": 0.01,
            "flap_setting": word,
        }
        for i in range(2)
    ]
    legs = [
        {"run_number": i, "start_s": start, "stop_s": start + 100.0}
        for i, start in enumerate(starts, 1)
    ]
    sortie = {"flown_on": "2020-01-01", "weight_kg": 600.0, "points": points, "legs": legs}
    return {"sorties": [sortie]}


@st.composite
def powers(draw: st.DrawFn) -> dict[str, Any] | None:
    """The power of a run, noted by nobody or at one of a few moments."""
    if draw(st.booleans()):
        return None
    percent = draw(st.sampled_from([55.0, 65.0, 75.0]))
    return {"power_pct": percent, "noted_at": draw(moments())}


@st.composite
def flights(draw: st.DrawFn, word: str, tag: str) -> Entry:
    """What one file gave for one airframe, reduced once or again."""
    line = [reduction(word, again) for again in (False, True)]
    i = draw(st.integers(0, 1))
    state = {
        "added_at": draw(moments()),
        "program_version": draw(st.sampled_from(["1", "2"])),
        "decisions": [draw(decisions()) for _ in range(2)],
        "powers": [draw(powers()) for _ in range(2)],
    }
    found = [
        Entry(kind="flights", key=(word, tag), content=content, state={"sorties": [state]})
        for content in line
    ]
    return replace(found[i], replaced=frozenset(t.digest for t in found[:i]))


@st.composite
def bare_sorties(draw: st.DrawFn) -> dict[str, Any]:
    """What a sortie says that holds climbs and nothing else."""
    return {"added_at": draw(moments()), "note": draw(st.sampled_from(["", "smooth"]))}


@st.composite
def climbs(draw: st.DrawFn, word: str, tag: str, kind: str, sortie: Any) -> Entry:
    """Climbs or glides of one log: the content follows from the log."""
    sign = 1.0 if kind == "climb" else -1.0
    measured = [
        {"vic_kt": 60.0, "rate_ftmin": sign * (10.0 * len(word) - i), "u_own_ftmin": 9.0}
        for i in range(2)
    ]
    content = {
        "flown_on": "2020-01-01",
        "climbs": [{**one, "flap_setting": "up"} for one in measured],
    }
    state = {
        "added_at": draw(moments()),
        "decisions": [draw(decisions()) for _ in measured],
        "sortie": sortie,
    }
    return Entry(kind="climbs", key=(word, tag, kind, "full"), content=content, state=state)


@st.composite
def flown(draw: st.DrawFn, word: str, tag: str) -> list[Entry]:
    """What somebody reduced of one file: points, climbs, glides, or several of them."""
    kinds = draw(st.sets(st.sampled_from(["flights", "climb", "glide"]), min_size=1))
    sortie = None if "flights" in kinds else draw(bare_sorties())
    found = [draw(flights(word, tag))] if "flights" in kinds else []
    return found + [draw(climbs(word, tag, kind, sortie)) for kind in sorted(kinds - {"flights"})]


@st.composite
def versions(draw: st.DrawFn, kind: str, key: tuple[Any, ...], contents: list[Any]) -> Entry:
    """One of a line of corrections, each of which knows all that it replaced."""
    line = [Entry(kind=kind, key=key, content=content) for content in contents]
    i = draw(st.integers(0, len(line) - 1))
    return Entry(
        kind=kind,
        key=key,
        content=line[i].content,
        state={},
        replaced=frozenset(t.digest for t in line[:i]),
    )


@st.composite
def stores(draw: st.DrawFn) -> Entries:
    """A store whose owner corrects, decides and withdraws, and contradicts nobody."""
    found = [
        Entry(kind="type", key=("t",), content={"note": ""}),
        Entry(kind="static_source", key=("t", "a"), content={"description": ""}),
    ]
    books = [{"weight_kg": kg, "rows": [[65.0, 4000.0, 100.0]]} for kg in (600.0, 580.0)]
    found.append(draw(versions("cruise_table", ("t", "e", "p", "first"), books)))
    for tag in TAGS:
        notes = [{"type": "t", "note": note} for note in ("", "red", "blue")]
        found.append(draw(versions("airframe", (tag,), notes)))
        fits = [{**FIT, "static_source": "a", "note": note} for note in ("", "as built")]
        found.append(draw(versions("fit", (tag, "2015-01-01"), fits)))
        for word in draw(st.sets(st.sampled_from(["x", "yy", "zzz"]))):
            state: dict[str, str | None] = {
                "added_at": draw(moments()),
                "name": draw(st.sampled_from(["a", "b"])),
            }
            found.append(Entry(kind="file", key=(word,), content={"kind": "points"}, state=state))
            found += draw(flown(word, tag))
        for number in range(1, draw(st.integers(0, 2)) + 1):
            key = (tag, "2021-01-01", "mark", number)
            state = {
                "added_at": draw(moments()),
                "withdrawn": draw(reasons()),
            }
            found.append(
                Entry(
                    kind="leak_check",
                    key=key,
                    content={"loss_ft": 10.0, "limit_ft": 100.0},
                    state=state,
                )
            )
    if draw(st.booleans()):
        day = draw(st.none() | st.sampled_from(["2024-06-01", "2024-07-01"]))
        withdrawn = draw(st.sampled_from(["port", "typo"])) if day else ""
        state = {
            "added_at": draw(moments()),
            "withdrawn": withdrawn,
            "withdrawn_on": day,
        }
        found.append(
            Entry(kind="issue", key=("t", "g", "up", 1), content={"why": "annual"}, state=state)
        )
    return {entry.name: entry for entry in found}


def merged(*parts: Entries) -> Entries:
    """Merge in this order into an empty store; a conflict fails."""
    result: Entries = {}
    for part in parts:
        merging = begin_merge(result, part, {}, lambda number: None)
        settle_across(merging)
        assert merging.conflicts == []
        result = merging.result
    return result


def meet(one: Entries, other: Entries) -> list[Conflict]:
    merging = begin_merge(one, other, {}, lambda number: None)
    settle_across(merging)
    return merging.conflicts


@given(stores(), stores())
def test_twice_is_once(one: Entries, other: Entries) -> None:
    assert merged(one, one) == merged(one) == one
    once = merged(one, other)
    assert merged(once, other) == once
    assert merged(once, one) == once


@given(stores(), stores(), stores())
def test_any_order_gives_the_same_store(a: Entries, b: Entries, c: Entries) -> None:
    results = [merged(*order) for order in permutations((a, b, c))]
    assert all(result == results[0] for result in results)


@given(stores(), stores(), stores())
def test_stores_may_be_merged_in_groups(a: Entries, b: Entries, c: Entries) -> None:
    assert merged(merged(a, b), c) == merged(a, merged(b, c))


@given(stores(), stores())
def test_nothing_of_either_store_is_lost(one: Entries, other: Entries) -> None:
    both = merged(one, other)
    assert set(both) == set(one) | set(other)
    for part in (one, other):
        for name, entry in part.items():
            kept = both[name]
            assert entry.digest in {kept.digest} | kept.replaced
            assert entry.replaced <= kept.replaced
            if "withdrawn" in entry.state:
                words = kept.state["withdrawn"].split("; ")
                assert all(word in words for word in entry.state["withdrawn"].split("; ") if word)


@given(stores(), st.data())
def test_contents_that_do_not_know_of_each_other_always_conflict(
    store: Entries, data: st.DataObject
) -> None:
    name: Key = data.draw(st.sampled_from(sorted(store, key=repr)))
    entry = store[name]
    if entry.kind == "flights":
        other: Any = {"sorties": [{**entry.content["sorties"][0], "weight_kg": 555.0}]}
    elif entry.kind == "climbs":
        other = {**entry.content, "climbs": entry.content["climbs"][:1]}
    elif entry.kind == "fit":
        other = {**entry.content, "note": "otherwise"}
    else:
        other = {**entry.content, "otherwise": True}
    strange = {
        **store,
        name: Entry(kind=entry.kind, key=entry.key, content=other, state=entry.state),
    }
    here, there = meet(store, strange), meet(strange, store)
    assert [c.conflict for c in here] == [c.conflict for c in there]
    assert len(here) == 1


@given(stores(), st.sampled_from(["mine", "theirs"]))
def test_what_was_settled_once_is_not_asked_again(store: Entries, side: Any) -> None:
    name = ("airframe", ("C-01",))
    other = {
        **store,
        name: Entry(kind="airframe", key=("C-01",), content={"type": "t", "note": "green"}),
    }
    merging = begin_merge(store, other, {}, lambda number: side)
    settle_across(merging)
    assert len(merging.conflicts) == 1
    for one in (store, other):
        assert merged(merging.result, one) == merging.result
        assert merged(one, merging.result)[name] == merging.result[name]


@given(stores(), stores())
def test_climbs_stand_under_the_flights_of_their_log_or_one_sortie(
    one: Entries, other: Entries
) -> None:
    both = merged(one, other)
    for entry in both.values():
        if entry.kind == "climbs":
            assert (entry.state["sortie"] is None) == (("flights", entry.key[:2]) in both)
    alone = [t for t in both.values() if t.kind == "climbs" and t.state["sortie"] is not None]
    for entry in alone:
        same = [t.state["sortie"] for t in alone if t.key[:2] == entry.key[:2]]
        assert all(sortie == same[0] for sortie in same)


@given(stores(), st.sampled_from(["mine", "theirs"]))
def test_another_day_for_the_climbs_of_a_log_is_a_conflict(store: Entries, side: Any) -> None:
    log = {t.name: t for t in store.values() if t.kind not in ("flights", "climbs")}
    log["file", ("x",)] = Entry(
        kind="file", key=("x",), content={"kind": "log"}, state={"added_at": "", "name": "a"}
    )
    points = {"vic_kt": 60.0, "kappa": 0.1, "u_kappa": 0.01, "flap_setting": "up"}
    sortie = {"flown_on": "2020-01-01", "weight_kg": 600.0, "points": [points]}
    state = {"added_at": "", "program_version": "1", "decisions": [NOBODY], "powers": [None]}
    flights = Entry(
        kind="flights", key=("x", "C-01"), content={"sorties": [sortie]}, state={"sorties": [state]}
    )
    told = {"flown_on": "2020-01-02", "climbs": [RATE]}
    alone = {"added_at": "", "decisions": [NOBODY], "sortie": {"added_at": "", "note": ""}}
    climbs = Entry(kind="climbs", key=("x", "C-01", "climb", "full"), content=told, state=alone)
    mine, theirs = {**log, flights.name: flights}, {**log, climbs.name: climbs}
    assert len(meet(mine, theirs)) == len(meet(theirs, mine)) == 1
    assert meet(mine, theirs)[0].conflict == meet(theirs, mine)[0].conflict
    merging = begin_merge(mine, theirs, {}, lambda number: side)
    settle_across(merging)
    kept, gone = (flights, climbs) if side == "mine" else (climbs, flights)
    assert merging.result[kept.name].digest == kept.digest
    assert gone.name not in merging.result
    assert (gone.name, gone.digest) in merging.replaced


@pytest.mark.parametrize("kind", ["flights", "climbs"])
def test_one_log_for_two_airframes_is_one_conflict_whatever_was_reduced(kind: str) -> None:
    stores = []
    for tag in TAGS:
        told = {"flown_on": "2020-01-01", "climbs": [{**RATE, "vic_kt": float(tag[-1])}]}
        alone = {"added_at": "", "note": ""} if kind == "climbs" else None
        entries = [
            Entry(
                kind="file",
                key=("x",),
                content={"kind": "log"},
                state={"added_at": "", "name": "a"},
            ),
            *(
                Entry(
                    kind="climbs",
                    key=("x", tag, way, "full"),
                    content=told,
                    state={"added_at": "", "decisions": [NOBODY], "sortie": alone},
                )
                for way in ("climb", "glide")
            ),
        ]
        if kind == "flights":
            sortie = {"flown_on": "2020-01-01", "weight_kg": 600.0, "points": []}
            state = {"added_at": "", "program_version": "1", "decisions": [], "powers": []}
            entries.append(
                Entry(
                    kind="flights",
                    key=("x", tag),
                    content={"sorties": [sortie]},
                    state={"sorties": [state]},
                )
            )
        stores.append({entry.name: entry for entry in entries})
    assert len(meet(*stores)) == 1
    mine, theirs = stores
    merging = begin_merge(mine, theirs, {}, lambda number: "theirs")
    settle_across(merging)
    assert {name for name in merging.result if name[0] != "file"} == {
        name for name in stores[1] if name[0] != "file"
    }


@given(stores(), stores())
def test_what_somebody_decided_or_noted_of_a_run_outlives_its_being_reduced_again(
    one: Entries, other: Entries
) -> None:
    both = merged(one, other)
    for part in (one, other):
        for name, entry in part.items():
            if entry.kind != "flights":
                continue
            (then,), (now,) = entry.state["sorties"], both[name].state["sorties"]
            same = (0, 1) if entry.digest == both[name].digest else (0,)
            for i in same:
                decided = then["decisions"][i]["decided_at"]
                assert decided is None or now["decisions"][i]["decided_at"] >= decided
                noted, kept = then["powers"][i], now["powers"][i]
                assert noted is None or kept["noted_at"] >= noted["noted_at"]
