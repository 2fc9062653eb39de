"""Stores know whose airframes and types are what; older ones learn that they do not know."""

from __future__ import annotations

import pytest
from sqlalchemy import text

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store import Store, open_store, save_description
from fleetcal.store.owner_rows import (
    NOBODY,
    OWN,
    learn_people,
    load_owners,
    set_coordinator,
    set_owner,
)
from fleetcal.store.person import Person
from tests.older_store import filling, step
from tests.store.invented_rows import FLEET, MOMENT, fill_every_table

ANNA, BO = Person("a1" * 32, "Anna Berg"), Person("b0" * 32, "Bo Lind")


def test_an_airframe_made_here_is_the_stores_own_and_a_type_has_no_coordinator(
    store: Store,
) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.reading() as session:
        found = load_owners(session)
    assert found.airframes == {"C-01": OWN, "C-02": OWN}
    assert set(found.coordinators.values()) == {""}
    assert found.deciding == frozenset()
    assert set(found.types) == {"C-01", "C-02"}


def test_owners_and_coordinators_are_kept_with_the_names_known_first(store: Store) -> None:
    kind = FLEET.types[0].name
    with store.writing() as session:
        save_description(session, FLEET)
        learn_people(session, [ANNA, BO], MOMENT)
        learn_people(session, [Person(ANNA.key, "Somebody else")], MOMENT)
        set_owner(session, "C-01", ANNA.key)
        set_owner(session, "C-02", NOBODY)
        set_coordinator(session, kind, BO.key, decides=True)
    with store.reading() as session:
        found = load_owners(session)
    assert found.airframes == {"C-01": ANNA.key, "C-02": NOBODY}
    assert (found.coordinators[kind], kind in found.deciding) == (BO.key, True)
    assert found.person(ANNA.key) == ANNA
    assert found.person("cd" * 32).shown.startswith("key ")


def test_owners_of_what_is_not_there_are_refused(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with pytest.raises(UnknownNameError, match="C-09"), store.writing() as session:
        set_owner(session, "C-09", OWN)
    with pytest.raises(UnknownNameError, match="Heron"), store.writing() as session:
        set_coordinator(session, "Heron", BO.key, decides=False)


def test_what_is_no_key_is_refused_by_the_store_itself(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with pytest.raises(DataError, match="owner_known"), store.writing() as session:
        set_owner(session, "C-01", "me")


@pytest.mark.long
def test_airframes_of_an_older_store_are_nobodys_and_its_owner_reads_of_it(place: str) -> None:
    with filling(place, "0014") as session:
        session.execute(text("SELECT 1"))
    with open_store(place) as store:
        assert store.upgrade_notes == ()
        fill_every_table(store)
        with store.writing() as session:
            session.execute(text("UPDATE replaced_version SET why = 'merge of club.json'"))
    step(place, "downgrade", "0014")
    with open_store(place, create=False) as store:
        (note,) = store.upgrade_notes
        assert "nobody owns the airframes" in note
        assert "owners set TAG --mine" in note
        with store.reading() as session:
            found = load_owners(session)
            said = session.execute(text("SELECT by_key FROM replaced_version")).scalars().all()
    assert set(found.airframes.values()) == {NOBODY}
    assert set(found.coordinators.values()) == {""}
    assert said == [""]
