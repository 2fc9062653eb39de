"""Whose word is believed when a share is merged, and what becomes a conflict."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from fleetcal.services.sharing.merge_share import Choices, Merged
from fleetcal.services.sharing.share_store import ShareChoice
from fleetcal.store import (
    FleetDescription,
    NewLeakCheck,
    Store,
    accept_points,
    add_leak_check,
    correct_weight,
    find_airframe,
    list_leak_checks,
    load_description,
    open_store,
    reject_points,
    revise_description,
    save_description,
    select_points,
)
from fleetcal.store.owner_rows import (
    NOBODY,
    OWN,
    Owners,
    learn_people,
    load_owners,
    set_coordinator,
    set_owner,
)
from tests.store.invented_rows import FLEET, MOMENT
from tests.store.invented_shares import (
    fly_file,
    merge_into,
    shared_text,
    signing_as,
    with_contents,
    write_share,
)

ONE = replace(FLEET, airframes=FLEET.airframes[:1])
Change = Callable[[Any], object]


class Places:
    """Stores by name, each kept by somebody."""

    def __init__(self, folder: Path, begun: Path) -> None:
        self._folder, self._begun = folder, begun

    def path(self, who: str) -> Path:
        path = self._folder / f"{who}.sqlite3"
        if not path.exists():
            shutil.copy(self._begun, path)
        return path

    @contextmanager
    def store(self, who: str) -> Iterator[Store]:
        with signing_as(who), open_store(self.path(who)) as store:
            yield store

    def change(self, who: str, change: Change) -> None:
        with self.store(who) as store, store.writing() as session:
            change(session)

    def share(self, who: str, name: str = "", choice: ShareChoice | None = None) -> Path:
        with self.store(who) as store:
            return write_share(store, self._folder / f"{name or who}.json", choice)

    def merge(self, who: str, path: Path, side: Any = None, **named: Any) -> Merged:
        self.path(who)
        with signing_as(who):
            return merge_into(self.path(who), path, Choices(side, named))

    def owners(self, who: str) -> Owners:
        with self.store(who) as store, store.reading() as session:
            return load_owners(session)

    def text(self, who: str) -> str:
        with self.store(who) as store:
            return shared_text(store)

    def points(self, who: str) -> list[tuple[float, bool, float]]:
        with self.store(who) as store, store.reading() as session:
            return [(p.kappa, p.accepted, p.weight_kg) for p in select_points(session)]


@pytest.fixture
def places(tmp_path: Path, begun_file: Path) -> Places:
    """Anna has described and flown C-01, and Bo has taken it from her."""
    found = Places(tmp_path, begun_file)
    found.change("Anna", lambda session: save_description(session, ONE))
    found.change("Anna", lambda session: fly_file(session, "one"))
    done = found.merge("Bo", found.share("Anna", "first"))
    assert done.stored
    return found


def unsigned(path: Path) -> Path:
    import json

    document = json.loads(path.read_text())
    other = path.with_name(f"unsigned-{path.name}")
    other.write_bytes(with_contents(document, document["contents"]))
    return other


def reduced_anew(session: Any) -> None:
    correct_weight(session, 1, 571.0)


@pytest.mark.long
def test_with_the_first_share_come_its_owners_and_everything_new_is_named(
    tmp_path: Path, begun_file: Path
) -> None:
    places = Places(tmp_path, begun_file)
    places.change("Anna", lambda session: save_description(session, ONE))
    places.change("Anna", lambda session: fly_file(session, "one"))
    with signing_as("Anna") as anna:
        pass
    done = places.merge("Bo", places.share("Anna"))
    assert done.signed_by == anna.shown
    assert ("owner of C-01", f"that of {anna.shown}") in [(x.what, x.outcome) for x in done.lines]
    (flight,) = [one for one in done.additions if one.flown_on]
    assert (flight.airframe, flight.flown_on, flight.sortie) == ("C-01", "2018-01-01", 1)
    assert (flight.what, flight.by) == ("flight one.csv: 3 points", anna.shown)
    assert len(done.additions) == done.added
    owners = places.owners("Bo")
    assert owners.airframes == {"C-01": anna.key}
    assert owners.people == {anna.key: anna}
    assert places.owners("Anna").airframes == {"C-01": OWN}


OWNERS_ACTS: dict[str, Change] = {
    "another weight": reduced_anew,
    "a rejected point": lambda s: reject_points(s, [1, 2], "loose", datetime.now().astimezone()),
    "a new flight": lambda s: fly_file(s, "two", day=date(2018, 2, 2)),
    "a failed leak check": lambda s: add_leak_check(
        s,
        NewLeakCheck(
            airframe="C-01",
            checked_on=date(2018, 1, 1),
            loss_ft=900.0,
            limit_ft=100.0,
            limit_source="invented",
        ),
        now=MOMENT,
    ),
    "another note": lambda s: revise_description(
        s, FleetDescription(airframes=(replace(ONE.airframes[0], note="red"),))
    ),
}


@pytest.mark.parametrize("act", OWNERS_ACTS)
def test_what_the_owner_says_of_his_airframe_is_taken(places: Places, act: str) -> None:
    places.change("Anna", OWNERS_ACTS[act])
    done = places.merge("Bo", places.share("Anna", "second"))
    assert done.stored
    assert done.conflicts == ()
    assert places.text("Bo") == places.text("Anna")


@pytest.mark.long
@pytest.mark.parametrize("act", OWNERS_ACTS)
@pytest.mark.parametrize("by", ["Mal", "Bo", "nobody"])
def test_the_same_by_anybody_else_is_a_conflict(places: Places, act: str, by: str) -> None:
    """Mal forges; Bo honestly changes his copy of her airframe; or nobody signs."""
    if by == "Mal":
        shutil.copy(places.path("Anna"), places.path("Mal"))
    author = "Anna" if by == "nobody" else by
    places.change(author, OWNERS_ACTS[act])
    path = places.share(author, "forged")
    path = unsigned(path) if by == "nobody" else path
    for victim in ("Anna", "Bo") if by == "Mal" else ("Anna",) if by == "Bo" else ("Bo",):
        before = places.path(victim).read_bytes()
        points = places.points(victim)
        found = places.merge(victim, path)
        assert not found.stored
        assert found.open == len(found.conflicts) > 0
        assert places.path(victim).read_bytes() == before
        # settled for one's own side, nothing has changed, and it is not asked again
        mine = places.merge(victim, path, "mine")
        assert mine.stored
        assert places.points(victim) == points
        settled = places.path(victim).read_bytes()
        again = places.merge(victim, path)
        assert places.path(victim).read_bytes() == settled
        assert (again.stored, again.conflicts) == (True, ())
        assert places.points(victim) == points


@pytest.mark.long
@pytest.mark.parametrize("act", OWNERS_ACTS)
def test_what_somebody_else_says_is_taken_by_choice(places: Places, act: str) -> None:
    places.change("Bo", OWNERS_ACTS[act])
    done = places.merge("Anna", places.share("Bo", "kind"), "theirs")
    assert done.stored
    assert {one.chosen for one in done.conflicts} == {"theirs"}
    assert places.text("Anna") == places.text("Bo")


@pytest.mark.long
def test_ones_own_share_heals_what_somebody_elses_share_has_overwritten(places: Places) -> None:
    own = places.share("Anna", "own")
    good = places.points("Anna")
    places.change("Bo", reduced_anew)
    places.merge("Anna", places.share("Bo", "overwriting"), "theirs")
    assert places.points("Anna") != good
    found = places.merge("Anna", own)
    (conflict,) = found.conflicts
    assert "whose word counts; what is here came with a share of somebody else" in conflict.what
    assert places.merge("Anna", own, **{conflict.conflict: "theirs"}).stored
    assert places.points("Anna") == good
    assert places.merge("Anna", own).conflicts == ()


@pytest.mark.long
def test_an_older_share_of_the_owner_himself_brings_nothing_back(places: Places) -> None:
    old = places.share("Anna", "old")
    places.change("Anna", reduced_anew)
    places.change("Anna", lambda s: reject_points(s, [3], "loose", datetime.now().astimezone()))
    places.merge("Bo", places.share("Anna", "new"))
    for who in ("Anna", "Bo"):
        before = places.path(who).read_bytes()
        done = places.merge(who, old)
        assert (done.stored, done.conflicts, done.corrected) == (True, (), 0)
        assert places.path(who).read_bytes() == before


def test_a_type_belongs_to_its_coordinator(places: Places) -> None:
    kind = ONE.types[0]

    def faster(session: Any) -> None:
        types = (replace(kind, never_exceed_kt=300.0),)
        revise_description(session, FleetDescription(types=types))

    places.change("Anna", faster)
    found = places.merge("Bo", places.share("Anna", "faster"))
    assert [one.what.split(":")[0] for one in found.conflicts] == ["type Corrie 2"]
    assert "never_exceed_kt 300.0" in found.conflicts[0].theirs
    with signing_as("Anna") as anna:
        pass

    def name(session: Any) -> None:
        learn_people(session, [anna], MOMENT)
        set_coordinator(session, "Corrie 2", anna.key, decides=False)

    places.change("Bo", name)
    done = places.merge("Bo", places.share("Anna", "faster"))
    assert (done.stored, done.conflicts) == (True, ())
    with places.store("Bo") as store, store.reading() as session:
        assert load_description(session).types[0].never_exceed_kt == 300.0


@pytest.mark.long
@pytest.mark.parametrize("decides", [False, True])
def test_a_coordinator_adds_flights_and_changes_them_only_if_he_may_decide(
    places: Places, decides: bool
) -> None:
    with signing_as("Club") as club:
        places.merge("Club", places.share("Anna", "pooled"))

    def name(session: Any) -> None:
        learn_people(session, [club], MOMENT)
        set_coordinator(session, "Corrie 2", club.key, decides=decides)

    places.change("Bo", name)
    places.change("Anna", lambda s: fly_file(s, "two", day=date(2018, 2, 2)))
    places.merge("Club", places.share("Anna", "more"))
    done = places.merge("Bo", places.share("Club", "more by the club"))
    assert (done.stored, done.conflicts) == (True, ())
    assert {one.by for one in done.additions} == {club.shown}
    places.change("Anna", reduced_anew)
    places.merge("Club", places.share("Anna", "changed"))
    done = places.merge("Bo", places.share("Club", "changed by the club"))
    assert done.stored == decides
    assert len(done.conflicts) == (0 if decides else 1)
    assert places.merge("Bo", places.share("Anna", "changed")).stored
    assert places.points("Bo") == places.points("Anna")


@pytest.mark.long
def test_an_owner_who_comes_later_is_confirmed_once(places: Places) -> None:
    places.change("Bo", lambda s: set_owner(s, "C-01", NOBODY))
    places.change("Anna", lambda s: fly_file(s, "two", day=date(2018, 2, 2)))
    path = places.share("Anna", "claim")
    found = places.merge("Bo", path)
    (claim,) = found.conflicts
    assert "nobody's here" in claim.what
    done = places.merge("Bo", path, **{claim.conflict: "theirs"})
    assert done.stored
    with signing_as("Anna") as anna:
        assert places.owners("Bo").airframes == {"C-01": anna.key}
    places.change("Anna", reduced_anew)
    assert places.merge("Bo", places.share("Anna", "next")).conflicts == ()


@pytest.mark.long
def test_an_airframe_goes_over_by_its_number_only_and_a_refusal_is_remembered(
    places: Places,
) -> None:
    shutil.copy(places.path("Anna"), places.path("Mal"))
    path = places.share("Mal", "claim")
    found = places.merge("Bo", path, "theirs")
    (claim,) = found.conflicts
    assert not found.stored
    assert "that of Anna" in claim.what
    assert "Mal" in claim.what
    assert places.merge("Bo", path, "mine").stored
    assert places.merge("Bo", path).conflicts == ()
    with signing_as("Anna") as anna:
        assert places.owners("Bo").airframes == {"C-01": anna.key}


def test_a_name_that_another_key_has_is_a_conflict(
    places: Places, tmp_path: Path, begun_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fleetcal.services.sharing.signing_key import name_signer

    path = places.path("Mal")
    with open_store(path) as store:
        monkeypatch.setenv("FLEETCAL_KEY", str(tmp_path / "mal" / "key.json"))
        mal = name_signer("anna")
        with store.writing() as session:
            save_description(session, FleetDescription(engines=("30 kW twin",)))
        share = write_share(store, tmp_path / "mal.json")
    found = places.merge("Bo", share, "theirs")
    (conflict,) = found.conflicts
    assert "the name anna is that of key" in conflict.what
    assert not found.stored
    assert places.merge("Bo", share, "mine").stored
    assert places.owners("Bo").people[mal.key].name == ""


def test_a_stranger_may_add_airframes_of_his_own_and_they_are_named(places: Places) -> None:
    places.change(
        "Mal", lambda s: save_description(s, replace(FLEET, airframes=FLEET.airframes[1:]))
    )
    places.change("Mal", lambda s: fly_file(s, "three", "C-02", date(2020, 3, 1)))
    done = places.merge("Bo", places.share("Mal"))
    assert (done.stored, done.conflicts) == (True, ())
    assert ("C-02", "2020-03-01", 1) in [
        (one.airframe, one.flown_on, one.sortie) for one in done.additions
    ]


@pytest.mark.long
def test_anybody_adds_to_what_is_nobodys_but_nobody_bars_it(places: Places) -> None:
    places.change("Bo", lambda s: set_owner(s, "C-01", NOBODY))
    places.change("Anna", OWNERS_ACTS["a new flight"])
    assert places.merge("Bo", unsigned(places.share("Anna", "flight"))).stored
    places.change("Anna", OWNERS_ACTS["a failed leak check"])
    found = places.merge("Bo", unsigned(places.share("Anna", "leak")))
    assert [one.what.split(":")[0] for one in found.conflicts] == [
        "leak check of C-01 on 2018-01-01"
    ]


@pytest.mark.long
def test_a_refused_flight_comes_when_its_owner_says_it_himself(places: Places) -> None:
    places.change("Anna", OWNERS_ACTS["a new flight"])
    path = places.share("Anna", "flight")
    places.merge("Bo", unsigned(path), "mine")
    assert len(places.points("Bo")) == 3
    done = places.merge("Bo", path)
    assert (done.stored, done.conflicts) == (True, ())
    assert len(places.points("Bo")) == 6


@pytest.mark.long
def test_a_later_decision_of_the_owner_wins_over_what_was_taken_by_choice(places: Places) -> None:
    rejecting = OWNERS_ACTS["a rejected point"]
    places.change("Bo", rejecting)
    places.merge("Anna", places.share("Bo", "kind"), "theirs")
    later = datetime.now().astimezone() + timedelta(seconds=1)
    places.change("Anna", lambda s: accept_points(s, [1, 2], later))
    assert all(accepted for _, accepted, _ in places.points("Anna"))
    assert places.merge("Anna", places.share("Bo", "again")).conflicts == ()
    assert all(accepted for _, accepted, _ in places.points("Anna"))


@pytest.mark.long
def test_a_merge_that_brought_an_owner_is_taken_back_with_him(places: Places) -> None:
    from fleetcal.store.undoing import undo_change

    places.change("Bo", lambda s: undo_change(s, None))
    assert places.owners("Bo").airframes == {}
    assert places.owners("Bo").people == {}
    assert places.merge("Bo", places.share("Anna", "again")).stored
    with places.store("Bo") as store, store.reading() as session:
        assert find_airframe(session, "C-01").owner == signing_key("Anna")
        assert list_leak_checks(session) == []


def signing_key(who: str) -> str:
    with signing_as(who) as person:
        return person.key
