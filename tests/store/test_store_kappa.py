"""The store takes every kappa that mathematics allows, and older stores come along."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text, update

from fleetcal.errors import DataError, StoreError
from fleetcal.records import LARGEST_KAPPA, LEAST_KAPPA
from fleetcal.services.sharing.share_format import read_share
from fleetcal.store import Store, open_store, select_points
from fleetcal.store.connection import for_upgrading
from fleetcal.store.models import CalibrationPoint
from tests.older_store import all_values, as_then, engine_at, step
from tests.store.invented_rows import fill_every_table
from tests.store.invented_shares import LATER, fill, shared_text, with_contents


@pytest.fixture
def old_place(place: str) -> str:
    """A store of the thirteenth revision with rows in every table."""
    with open_store(place) as store:
        fill_every_table(store)
    step(place, "downgrade", "0013")
    return place


@pytest.mark.long
def test_an_upgraded_store_keeps_every_value(old_place: str) -> None:
    before = all_values(old_place)
    open_store(old_place, create=False).close()
    assert as_then(all_values(old_place), before) == before
    step(old_place, "downgrade", "0013")
    assert all_values(old_place) == before


@pytest.mark.long
def test_a_store_with_a_kappa_that_cannot_be_stays_as_it_was(old_place: str) -> None:
    with (
        engine_at(old_place) as engine,
        for_upgrading(engine).connect() as connection,
        connection.begin(),
    ):
        connection.execute(text("UPDATE calibration_point SET kappa = -1.5"))
    before = all_values(old_place)
    with pytest.raises(StoreError, match="cannot be upgraded to revision") as refused:
        open_store(old_place, create=False)
    assert "kappa_range" in refused.value.message
    assert all_values(old_place) == before


@pytest.mark.parametrize("kappa", [-1.0, -1.4])
def test_the_store_itself_refuses_a_kappa_without_pressure(store: Store, kappa: float) -> None:
    fill_every_table(store)
    with pytest.raises(DataError), store.writing() as session:
        session.execute(update(CalibrationPoint).values(kappa=kappa))


@pytest.mark.parametrize("kappa", [LEAST_KAPPA, 0.63, LARGEST_KAPPA])
def test_a_large_kappa_is_kept_and_shared(store: Store, kappa: float) -> None:
    fill(store)
    with store.writing() as session:
        session.execute(update(CalibrationPoint).values(kappa=kappa))
    with store.reading() as session:
        assert {point.kappa for point in select_points(session)} == {kappa}
    entries = read_share(shared_text(store).encode(), "large.json", LATER).entries
    shared = [
        point["kappa"]
        for entry in entries.values()
        if entry.kind == "flights"
        for sortie in entry.content["sorties"]
        for point in sortie["points"]
    ]
    assert shared
    assert set(shared) == {kappa}


def test_a_shared_kappa_without_pressure_is_refused_by_place(store: Store) -> None:
    fill(store)
    document = json.loads(shared_text(store))
    flights = document["contents"]["things"]["flights"]
    points = [p for one in flights for s in one["content"]["sorties"] for p in s["points"]]
    points[0]["kappa"] = -1.0
    with pytest.raises(DataError, match=r"kappa.*is not above -1"):
        read_share(with_contents(document, document["contents"]), "forged.json", LATER)
