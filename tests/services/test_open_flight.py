"""A flight that is read once and answered again while its legs are picked."""

from __future__ import annotations

import json
import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import DataError, FleetcalError, MalformedFileError, NoRunError
from fleetcal.services.flights.air_taken import stated_air
from fleetcal.services.flights.chosen_legs import ChosenLeg, leg_list_csv
from fleetcal.services.flights.open_flight import OpenFlight, open_flight
from fleetcal.services.flights.picked_legs import MOST_LEGS, PickedLeg
from fleetcal.services.flights.reduce_again import StoredFlightChoice, reduce_again
from fleetcal.services.flights.reduce_flight import preview_flight, reduce_flight
from fleetcal.services.flights.reduction import FlightDetails, HandChoices
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.stored_request import NewRequest
from fleetcal.store import Store, open_store, stored_flights
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Truth, fly, log_text
from tests.store_places import begun_at

PROBE = stated_air("probe", 0.8)
NOBODY = FlightDetails(airframe=None, air=PROBE)
PLAIN = ReductionSettings()


@pytest.fixture(scope="session")
def text() -> str:
    return log_text(fly(truth=Truth(kappa=0.05, roughness=1.0)))


@pytest.fixture
def log(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "flight.csv"
    path.write_text(text)
    return path


def kappas(flight: OpenFlight, picked: list[PickedLeg] | None = None) -> list[float]:
    return [run.kappa for run in flight.solve(None, picked).result.runs]


def shorter(flight: OpenFlight) -> list[PickedLeg]:
    """The legs found, the first without its last 20 s."""
    first, *others = flight.found
    return [replace(first, stop_s=first.stop_s - 20.0), *others]


def test_a_flight_says_what_its_reduction_says(log: Path) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    answer = flight.solve(None)
    # compared as text: a weight that nobody gave is NaN
    assert repr(answer.result) == repr(preview_flight(log, NOBODY, PLAIN))
    assert len(flight.found) == 12
    assert answer.sentences[0].startswith("At ")
    assert len(answer.table.rows) == len(answer.speeds) == 3
    assert flight.history is not None
    assert answer.picture.history is not None
    assert np.array_equal(answer.picture.history.time_s, flight.history.time_s)


@pytest.mark.long
def test_legs_picked_answer_as_the_same_list_in_a_file_does(log: Path, tmp_path: Path) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    picked = shorter(flight)
    file = tmp_path / "legs.csv"
    chosen = [ChosenLeg(run=leg.run, start_s=leg.start_s, stop_s=leg.stop_s) for leg in picked]
    file.write_text(leg_list_csv(chosen))
    listed = preview_flight(log, replace(NOBODY, choices=HandChoices(leg_list=file)), PLAIN)
    log.unlink()  # answered from what was read
    result = flight.solve(None, picked).result
    assert repr((result.runs, result.legs)) == repr((listed.runs, listed.legs))
    assert [run.kappa for run in result.runs] != kappas(flight)
    assert result.choices == ("12 legs cut by hand",)


def test_a_leg_left_out_is_the_leg_that_the_command_drops(log: Path) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    picked = [replace(leg, left_out=place == 5) for place, leg in enumerate(flight.found)]
    dropped = preview_flight(log, replace(NOBODY, choices=HandChoices(drop=((2, 2),))), PLAIN)
    assert repr(flight.solve(None, picked).result) == repr(dropped)


def test_legs_as_they_were_found_are_no_choice(log: Path) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    assert not flight.choices(list(reversed(flight.found))).any


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda leg: replace(leg, stop_s=leg.start_s + 2.0), "fewer than"),
        (lambda leg: replace(leg, stop_s=9e6), "is not within the"),
        (lambda leg: replace(leg, start_s=-50.0), "is not within the"),
        (lambda leg: replace(leg, start_s=float("nan")), "is not within the"),
        (lambda leg: replace(leg, stop_s=leg.stop_s + 200.0), "overlaps the one of the leg of run"),
        (lambda leg: replace(leg, run=0), "no number of a run"),
    ],
)
def test_legs_that_cannot_be_are_refused_by_their_times(
    change: object, named: str, log: Path
) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    first, *others = flight.found
    assert callable(change)
    with pytest.raises(MalformedFileError) as refused:
        flight.solve(None, [change(first), *others])
    assert named in refused.value.message
    assert refused.value.hint


def test_no_legs_and_far_too_many_are_refused(log: Path) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    with pytest.raises(NoRunError):
        flight.solve(None, [replace(leg, left_out=True) for leg in flight.found])
    with pytest.raises(MalformedFileError, match="every leg is left out"):
        flight.solve(None, [])
    with pytest.raises(MalformedFileError, match="408 legs were picked"):
        flight.solve(None, list(flight.found) * (MOST_LEGS // 12 + 1))


@pytest.mark.parametrize("by", ["manoeuvres", "flight"])
def test_other_parts_are_solved_without_legs(by: str, log: Path) -> None:
    flight = open_flight(log, replace(NOBODY, solve_by=by), PLAIN)
    if by == "flight":
        answer = flight.solve(None, shorter(flight))
        assert {run.number for run in answer.result.runs} <= {p.number for p in flight.parts}
        previewed = preview_flight(log, flight.details, PLAIN)
        assert [run.kappa for run in answer.result.runs] == [run.kappa for run in previewed.runs]
    for part in flight.parts:
        assert 0.0 <= part.start_s < part.stop_s


def test_a_sheet_has_an_answer_and_no_legs_to_move(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(leg_sheet())
    flight = open_flight(sheet, NOBODY, PLAIN)
    assert flight.found == ()
    assert flight.history is None
    assert flight.solve(None).sentences


@pytest.mark.long
def test_the_file_is_read_again_only_for_what_changes_the_reading(
    log: Path, described: Store
) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    heavier = flight.changed(replace(NOBODY, weight_kg=640.0, flap_setting="half"), None)
    assert heavier.chosen is flight.chosen
    assert heavier.solve(None).result.flap_setting == "half"
    named = flight.changed(replace(NOBODY, airframe="C-01", weight_kg=560.0), described)
    assert named.chosen is flight.chosen
    assert named.solve(described).result.airframe == "C-01"
    other = flight.changed(replace(NOBODY, air=stated_air("static", 1.0)), None)
    assert other.chosen is not flight.chosen
    assert kappas(other) != kappas(flight)
    log.unlink()
    flight.changed(replace(NOBODY, weight_kg=500.0), None)
    with pytest.raises(FleetcalError):
        flight.changed(replace(NOBODY, airspeed_from="true_airspeed"), None)


def test_the_file_is_not_read_again_for_the_same_settings_from_elsewhere(log: Path) -> None:
    flight = open_flight(log, NOBODY, PLAIN)
    settings = pickle.loads(pickle.dumps(PLAIN))  # whose NaN are others
    assert flight.changed(NOBODY, None, settings).chosen is flight.chosen


@pytest.mark.long
def test_a_flight_kept_is_stored_as_the_command_stores_it(log: Path, tmp_path: Path) -> None:
    places = [begun_at(tmp_path / name) for name in ("page.sqlite3", "command.sqlite3")]
    details = FlightDetails(airframe="C-31", weight_kg=560.0, note="smooth", air=PROBE)
    flight = open_flight(log, replace(details, airframe=None), PLAIN)
    picked = shorter(flight)
    named = replace(flight, details=details)
    kept = named.keep(places[0], picked, new_airframe=True)
    assert kept.stored
    file = tmp_path / "legs.csv"
    chosen = [ChosenLeg(run=leg.run, start_s=leg.start_s, stop_s=leg.stop_s) for leg in picked]
    file.write_text(leg_list_csv(chosen))
    with open_store(places[1]) as store:
        from fleetcal.services.fleet.new_airframe import add_airframe

        add_airframe(places[1], "C-31", 560.0)
        by_file = replace(details, choices=HandChoices(leg_list=file))
        reduce_flight(store, log, by_file, PLAIN)
        (there,) = rows(store)
    with open_store(places[0]) as store:
        (here,) = rows(store)
        assert here == there
        again = reduce_again(store, StoredFlightChoice(log=log), NewRequest({}))
        assert [one.outcome for one in again.flights] == ["alike"]
        assert flight.stored_as(store) == (("C-31", kept.sortie_id),)
    assert named.keep(places[0], picked).known_already


def rows(store: Store) -> list[tuple[object, ...]]:
    with store.reading() as session:
        return [
            (one.airframe, one.flown_on, one.note, one.file, json.loads(one.settings_json))
            for one in stored_flights(session)
        ]


def test_keeping_needs_a_name_and_leaves_nothing_where_it_fails(log: Path, tmp_path: Path) -> None:
    place = begun_at(tmp_path / "store.sqlite3")
    flight = open_flight(log, NOBODY, PLAIN)
    with pytest.raises(DataError, match="no airframe"):
        flight.keep(place)
    named = replace(flight, details=replace(NOBODY, airframe="C-32", weight_kg=560.0))
    with pytest.raises(MalformedFileError):
        named.keep(place, [replace(flight.found[0], stop_s=9e6)], new_airframe=True)
    with open_store(place) as store:
        assert rows(store) == []
