"""A store or a share file that only knew what a sortie shares learns whose errors terms are."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from sqlalchemy import text

from fleetcal.errors import DataError
from fleetcal.services.sharing.share_format import read_share
from fleetcal.store import Store, open_store, select_points
from fleetcal.store.exchange.collect_entries import collect_entries
from fleetcal.store.exchange.entries import Entry, canonical
from fleetcal.store.history_guard import lifted
from fleetcal.store.models import UncertaintyTerm
from fleetcal.store.term_owners import as_older, owner_of_older, with_owner
from fleetcal.store.undoing import undo_change
from tests.older_store import engine_at, step
from tests.store.invented_rows import fill_every_table
from tests.store.invented_shares import LATER, fill, shared_text, with_contents, without_owners

#: Name, whether the sortie shared it, and whose error it is taken to be now.
TOLD = [
    ("outside-air temperature", True, "airframe"),
    ("airspeed indicator", True, "airframe"),
    ("altimeter", True, "airframe"),
    ("recovery factor", True, "fleet"),
    ("course distance", True, "sortie"),
    ("shared by the sortie", True, "sortie"),
    ("altimeter", False, "point"),
    ("wind drift", False, "point"),
]


@pytest.fixture
def old_place(place: str) -> str:
    """A store of the ninth revision whose terms are those above, one a point or more."""
    with open_store(place) as store:
        fill_every_table(store)
    step(place, "downgrade", "0009")
    with engine_at(place) as engine, Store(engine, "of the ninth").writing() as session:
        session.execute(text("DELETE FROM uncertainty_term"))
        for i, (name, shared, _) in enumerate(TOLD):
            session.execute(
                text(
                    "INSERT INTO uncertainty_term"
                    " (id, calibration_point_id, name, u_kappa, shared, kind, note)"
                    " VALUES (:id, :point, :name, -0.001, :shared, 'B', '')"
                ),
                {"id": i + 1, "point": 1 + i % 6, "name": name, "shared": shared},
            )
    return place


@pytest.mark.long
def test_older_terms_find_their_owners_by_name(old_place: str) -> None:
    with open_store(old_place, create=False) as store, store.reading() as session:
        found = {(t.name, t.owner) for point in select_points(session) for t in point.terms}
    assert found == {(name, owner) for name, _, owner in TOLD}


@pytest.mark.long
def test_going_back_and_forth_again_loses_no_owner(old_place: str) -> None:
    def terms() -> list[Any]:
        with engine_at(old_place) as engine, engine.connect() as connection:
            query = text("SELECT id, name, u_kappa, owner, kind, note FROM uncertainty_term")
            return sorted(tuple(row) for row in connection.execute(query))

    with open_store(old_place, create=False):
        before = terms()
    step(old_place, "downgrade", "0009")
    with open_store(old_place, create=False):
        assert terms() == before


@pytest.mark.long
def test_the_upgraded_store_itself_refuses_an_owner_that_nobody_knows(old_place: str) -> None:
    with (
        open_store(old_place) as store,
        pytest.raises(DataError, match="owner_known"),
        store.writing() as session,
    ):
        session.execute(text("UPDATE uncertainty_term SET owner = 'club'"))


def test_what_was_removed_before_the_upgrade_is_brought_back_with_its_owner(place: str) -> None:
    with open_store(place) as store:
        fill_every_table(store)
        with store.writing() as session:
            session.delete(session.get(UncertaintyTerm, 1))
        with store.writing() as session, lifted(session.connection()):
            told = json.dumps(
                {"id": 1, "calibration_point_id": 1, "name": "altimeter", "u_kappa": 0.002}
                | {"shared": True, "kind": "B", "note": ""}
            )
            session.execute(
                text("UPDATE changed_row SET values_json = :told WHERE act = 'removed'"),
                {"told": told},
            )
        with store.writing() as session:
            undo_change(session, None)
        with store.reading() as session:
            terms = [t for point in select_points(session) for t in point.terms]
    assert [t.owner for t in terms if t.name == "altimeter"] == ["airframe"]


@pytest.mark.parametrize("version", [1, 2])
def test_an_older_share_file_gives_the_flights_that_the_upgrade_would(
    place: str, version: int
) -> None:
    with open_store(place) as store:
        fill(store)
        document = json.loads(shared_text(store))
        with store.reading() as session:
            mine = collect_entries(session)
    contents = document["contents"]
    del contents["things"]["thermometer"]
    for flights in contents["things"]["flights"]:
        without_owners(flights)
        for power in (p for state in flights["state"]["sorties"] for p in state["powers"] if p):
            del power["doubt"]
    if version == 1:
        del contents["things"]["climbs"], contents["things"]["cruise_table"], contents["logs"]
        for flights in contents["things"]["flights"]:
            for stood in flights["state"]["sorties"]:
                del stood["powers"]
    raw = with_contents({**document, "version": version}, contents)
    theirs = read_share(raw, "old.json", LATER).entries
    flown = [entry for entry in theirs.values() if entry.kind == "flights"]
    assert flown
    for entry in flown:
        assert entry.content == mine[entry.name].content
        assert entry.digest == mine[entry.name].digest
    with pytest.raises(DataError, match=r"shared|missing"):
        read_share(with_contents(document, contents), "new.json", LATER)


def test_a_digest_kept_of_an_older_flight_is_still_that_of_the_flight() -> None:
    def flights(term: dict[str, Any]) -> dict[str, Any]:
        return {"sorties": [{"points": [{"number": 1, "terms": [term]}]}]}

    before = flights({"name": "altimeter", "u_kappa": 0.1, "shared": True})
    now = flights({"name": "altimeter", "u_kappa": 0.1, "owner": "airframe"})
    other = flights({"name": "altimeter", "u_kappa": 0.1, "owner": "sortie"})
    kept = hashlib.sha256(canonical(before).encode()).hexdigest()
    assert Entry(kind="flights", key=("a", "b"), content=now).digest == kept
    assert Entry(kind="flights", key=("a", "b"), content=other).digest != kept


@pytest.mark.parametrize(("name", "shared", "owner"), TOLD)
def test_the_rule_goes_both_ways(name: str, shared: bool, owner: str) -> None:
    assert owner_of_older(name, shared) == owner
    old = {"name": name, "shared": shared, "u_kappa": 0.1}
    new = {"name": name, "owner": owner, "u_kappa": 0.1}
    assert with_owner(old) == new
    assert with_owner(new) == new
    assert as_older(new) == old
