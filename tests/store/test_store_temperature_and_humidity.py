"""Stores and share files learn what temperature displays show, and lose nothing on the way."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import update

from fleetcal.errors import DataError
from fleetcal.services.fleet.describe_fleet import set_thermometer
from fleetcal.services.sharing.share_format import read_share
from fleetcal.store import (
    NewSortie,
    Store,
    add_sortie,
    add_source,
    load_description,
    open_store,
    save_description,
    select_legs,
)
from fleetcal.store.exchange.collect_entries import collect_entries
from fleetcal.store.history_guard import KEPT
from fleetcal.store.models import Airframe, Leg
from fleetcal.store.undoing import undo_change
from tests.older_store import all_values, as_then, step
from tests.store.invented_rows import FLEET, LEG, fill_every_table
from tests.store.invented_shares import LATER, fill, shared_text

PROBE = replace(FLEET.airframes[0], temperature_shows="probe", recovery_factor=0.75)


@pytest.fixture
def old_place(place: str) -> str:
    """A store of the twelfth revision with rows in every table."""
    with open_store(place) as store:
        fill_every_table(store)
    step(place, "downgrade", "0012")
    return place


@pytest.mark.long
def test_an_upgraded_store_keeps_every_value_and_knows_no_display(old_place: str) -> None:
    before = all_values(old_place)
    with open_store(old_place, create=False) as store, store.reading() as session:
        assert as_then(all_values(old_place), before) == before
        assert {a.temperature_shows for a in load_description(session).airframes} == {None}
        for legs in select_legs(session).values():
            assert {(leg.recovery_factor, leg.humidity_pct) for leg in legs} == {(None, None)}


@pytest.mark.long
def test_going_back_takes_only_the_displays_away(old_place: str) -> None:
    before = all_values(old_place)
    with open_store(old_place, create=False) as store, store.writing() as session:
        save_description(session, replace(FLEET, airframes=(PROBE, FLEET.airframes[1])))
    step(old_place, "downgrade", "0012")
    after, told = all_values(old_place), KEPT
    assert [name for name in before if after[name] != before[name] and name not in told] == []


@pytest.mark.parametrize(
    "values",
    [
        {"temperature_shows": "dial"},
        {"temperature_shows": "ambient", "recovery_factor": 0.8},
        {"temperature_shows": "probe", "recovery_factor": 1.2},
    ],
)
def test_the_store_itself_refuses_what_no_display_shows(
    store: Store, values: dict[str, object]
) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with pytest.raises(DataError), store.writing() as session:
        session.execute(update(Airframe).values(**values))


def test_the_store_itself_refuses_air_beyond_saturation(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
        source = add_source(session, "a" * 64, "a.csv", "log")
        day = FLEET.airframes[0].fits[0].from_date
        add_sortie(
            session, source, NewSortie(airframe="C-01", flown_on=day, weight_kg=590.0), [LEG], []
        )
    for values in ({"humidity_pct": 101.0}, {"recovery_factor": -0.1}):
        with pytest.raises(DataError), store.writing() as session:
            session.execute(update(Leg).values(**values))


def test_a_description_that_leaves_the_display_open_does_not_forget_it(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    set_thermometer(store, "C-01", "probe", 0.75)
    with store.writing() as session:
        assert save_description(session, FLEET).changed == 0
    with store.reading() as session:
        assert PROBE in load_description(session).airframes
    assert set_thermometer(store, "C-01", None, None) == "not known what the temperature shows"
    with store.reading() as session:
        assert load_description(session).airframes == FLEET.airframes


def test_a_display_travels_by_itself_and_the_later_word_wins(store: Store) -> None:
    fill(store)
    set_thermometer(store, "C-01", "probe", 0.75)
    first = read_share(shared_text(store).encode(), "first.json", LATER).entries
    named = ("thermometer", ("C-01",))
    assert first[named].content == {"shows": "probe", "recovery_factor": 0.75}
    set_thermometer(store, "C-01", "ambient", None)
    later = read_share(shared_text(store).encode(), "later.json", LATER).entries
    assert first[named].digest in later[named].replaced
    assert first["airframe", ("C-01",)].digest == later["airframe", ("C-01",)].digest
    with store.writing() as session:
        undo_change(session, None)
    with store.reading() as session:
        assert collect_entries(session)[named].content["shows"] == "probe"


def test_legs_of_older_versions_have_the_content_that_they_had(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
        day = FLEET.airframes[0].fits[0].from_date
        moist = replace(LEG, leg_number=2, recovery_factor=0.0, humidity_pct=55.0)
        source = add_source(session, "a" * 64, "a.csv", "log")
        add_sortie(
            session,
            source,
            NewSortie(airframe="C-01", flown_on=day, weight_kg=590.0),
            [LEG, moist],
            [],
        )
    with store.reading() as session:
        (sortie,) = collect_entries(session)["flights", ("a" * 64, "C-01")].content["sorties"]
    old, new = sortie["legs"]
    assert not {"recovery_factor", "humidity_pct"} & old.keys()
    assert (new["recovery_factor"], new["humidity_pct"]) == (0.0, 55.0)
