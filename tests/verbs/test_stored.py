"""What is stored, and what is not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import fleetcal
from fleetcal.errors import DataError, StoreError, UnknownNameError
from tests.cli.command_line import Program, folder_content


@pytest.mark.long
def test_nothing_is_stored_unless_an_airframe_and_a_store_are_given(
    log: Path, own: Program, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLEETCAL_STORE", own.store)
    before = folder_content(folder)
    assert not fleetcal.reduce(log).result.stored
    assert not fleetcal.reduce(log, airframe="C-01", weight_kg=580).result.stored
    assert not fleetcal.reduce(log, store=own.store).result.stored
    assert folder_content(folder) == before


@pytest.mark.long
def test_a_flight_is_stored_once(log: Path, own: Program) -> None:
    with fleetcal.open(own.store) as store:
        first = fleetcal.reduce(log, airframe="C-01", weight_kg=580, store=store)
        again = fleetcal.reduce(log, airframe="C-01", weight_kg=580, store=store)
    assert first.result.stored
    assert not again.result.stored
    assert again.sentences[0].startswith("Nothing was added: ")
    assert again.frame().empty
    assert "<p><strong>Nothing was added: " in again._repr_html_()
    with pytest.raises(DataError, match="nothing is drawn") as caught:
        again.draw()
    assert caught.value.hint
    listed = own.json("points", "list", "--airframe", "C-01")["points"]
    kept = [point for point in listed if point["sortie_id"] == first.result.sortie_id]
    shown = first.frame()
    assert [point["kappa"] for point in kept] == pytest.approx(shown["kappa"].to_list())


def test_a_first_flight_begins_the_store_with_its_airframe(log: Path, folder: Path) -> None:
    place = folder / "mine.store"
    given: dict[str, Any] = {"airframe": "C-41", "weight_kg": 580, "store": place}
    with pytest.raises(StoreError):
        fleetcal.reduce(log, **given)
    assert not place.exists()
    flight = fleetcal.reduce(log, **given, new_airframe=True)
    assert flight.result.stored
    assert "C-41" in fleetcal.curve("C-41", store=place).sentences[0]
    with pytest.raises(UnknownNameError):
        fleetcal.reduce(log, airframe="C-42", weight_kg=580, store=place)
    with pytest.raises(UnknownNameError, match="nearly the same"):
        fleetcal.reduce(log, airframe="c41", weight_kg=580, store=place, new_airframe=True)


def test_a_store_that_was_opened_stays_open_and_one_given_by_path_is_closed(few: Program) -> None:
    with fleetcal.open(few.store) as store:
        for _ in range(2):
            assert not fleetcal.groups(store=store).frame().empty
    with pytest.raises(StoreError, match="has been closed"):
        fleetcal.groups(store=store)


def test_without_a_store_the_verbs_take_that_of_the_environment(
    few: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLEETCAL_STORE", few.store)
    here = fleetcal.groups()
    assert here.frame().equals(fleetcal.groups(store=few.store).frame())
