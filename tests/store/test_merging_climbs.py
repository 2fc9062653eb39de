"""Climbs and glides travel with their log, whether or not its points were reduced as well."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations
from pathlib import Path

import pytest
from sqlalchemy import text, update
from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.services.flights.changed_options import Given
from fleetcal.services.flights.keep_reduction import known_reduction
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.keeping.check_store import check_store
from fleetcal.services.sharing.merge_share import Choices
from fleetcal.services.sharing.share_format import read_share
from fleetcal.store import (
    NewSortie,
    Store,
    add_climbs,
    add_sortie,
    add_source,
    find_source,
    open_store,
    save_description,
    select_climbs,
    select_points,
)
from fleetcal.store.connection import for_upgrading
from fleetcal.store.history_guard import KEPT
from fleetcal.store.models import ClimbMeasurement, Sortie
from tests.older_store import all_values, as_then, engine_at, filling, step
from tests.store.invented_rows import CLIMB, FLEET, GLIDE, LEG, MOMENT, points
from tests.store.invented_shares import (
    CLIMBED,
    LATER,
    climb_only,
    fill,
    fly_file,
    merge_into,
    rows_without_numbers,
    sha,
    shared_text,
    with_contents,
    without_owners,
    write_share,
)
from tests.store.test_store_history import rows, undo
from tests.store_places import begun_at

DAY = date(2018, 1, 1)


def points_only(session: Session) -> None:
    fly_file(session, "log", day=DAY)


def with_climbs(session: Session) -> None:
    add_climbs(session, fly_file(session, "log", day=DAY), [CLIMB], now=CLIMBED)


def with_both(session: Session) -> None:
    add_climbs(session, fly_file(session, "log", day=DAY), [GLIDE, replace(CLIMB, number=3)])
    session.execute(
        update(ClimbMeasurement).values(added_at=MOMENT, decided_at=MOMENT),
        execution_options={"synchronize_session": False},
    )


def bare(session: Session, *climbs: object, weight_kg: float, hours: int) -> None:
    now = MOMENT + timedelta(hours=hours)
    source = add_source(session, sha("log"), "log.csv", "log", now=now)
    sortie = NewSortie(
        airframe="C-01",
        flown_on=DAY,
        weight_kg=weight_kg,
        track_reference="unknown",
        settings_json="{}",
        note=f"after {hours} h",
    )
    number = add_sortie(session, source, sortie, [], [], now=now).id
    add_climbs(session, number, climbs, now=now)  # type: ignore[arg-type]


def glides_alone(session: Session) -> None:
    bare(session, GLIDE, weight_kg=580.0, hours=2)


def climbs_alone(session: Session) -> None:
    bare(session, CLIMB, weight_kg=590.0, hours=1)


def shared(folder: Path, *acts: Callable[[Session], object]) -> list[Path]:
    """Share files of stores in each of which one thing was done."""
    paths = []
    for i, act in enumerate(acts):
        with open_store(begun_at(folder / f"{i}.sqlite3")) as store:
            with store.writing() as session:
                save_description(session, FLEET)
                act(session)
            paths.append(write_share(store, folder / f"{i}.json"))
    return paths


@pytest.mark.parametrize(
    "acts",
    [
        pytest.param((points_only, with_climbs, with_both), marks=pytest.mark.long),
        (points_only, climbs_alone, glides_alone),
        pytest.param((climbs_alone, glides_alone, with_both), marks=pytest.mark.long),
        pytest.param((glides_alone, with_climbs, climbs_alone), marks=pytest.mark.long),
    ],
    ids=lambda acts: ", ".join(act.__name__ for act in acts),
)
def test_the_order_does_not_matter_and_twice_is_once(
    tmp_path: Path, acts: tuple[Callable[[Session], object], ...]
) -> None:
    paths = shared(tmp_path, *acts)
    found = set()
    for i, order in enumerate(permutations(paths)):
        target = tmp_path / f"target {i}.sqlite3"
        for path in order:
            assert merge_into(target, path).stored
        again = [merge_into(target, path) for path in order]
        assert not any(m.added or m.corrected or m.brought_up_to_date for m in again)
        with open_store(target) as store:
            found.add(shared_text(store))
            assert not [f for f in check_store(store).faults if "point" not in f.where]
            with store.reading() as session:
                assert len({c.sortie_id for c in select_climbs(session)}) == 1
                assert session.query(Sortie).count() == 1
    assert len(found) == 1


@pytest.mark.long
def test_flights_take_the_place_of_a_sortie_that_held_climbs_alone_and_keep_them(
    store: Store, tmp_path: Path
) -> None:
    (path,) = shared(tmp_path, points_only)
    with store.writing() as session:
        save_description(session, FLEET)
        climbs_alone(session)
    before, told = rows(store), shared_text(store)
    assert merge_into(place_of(store), path).stored
    with store.reading() as session:
        (climb,) = select_climbs(session)
        assert {p.sortie_id for p in select_points(session)} == {climb.sortie_id}
    undo(store)
    assert rows(store) == before
    assert shared_text(store) == told


def place_of(store: Store) -> str:
    url = store._engine.url
    is_file = store._engine.dialect.name == "sqlite"
    return store.label if is_file else url.render_as_string(hide_password=False)


def test_an_import_of_climbs_is_taken_back_to_the_row(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
        number = fly_file(session, "log")
    before = rows(store)
    with store.writing() as session:
        add_climbs(session, number, [CLIMB, GLIDE])
    with store.writing() as session:
        climb_only(session, "other")
    assert undo(store) == 5  # file, sortie and three climbs
    assert undo(store) == 2
    assert rows(store) == before


def test_a_flight_is_not_taken_back_from_under_later_climbs(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.writing() as session:
        number = fly_file(session, "log")
    with store.writing() as session:
        add_climbs(session, number, [CLIMB])
    with pytest.raises(DataError, match="change 3 touched climb_measurement"):
        undo(store, 2)


@pytest.mark.long
@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_climbs_reduced_differently_are_a_conflict_and_can_be_taken_back(
    store: Store, tmp_path: Path, side: str
) -> None:
    other = replace(CLIMB, rate_ftmin=700.0)
    (path,) = shared(
        tmp_path, lambda s: add_climbs(s, fly_file(s, "log", day=DAY), [other], now=LATER)
    )
    with store.writing() as session:
        save_description(session, FLEET)
        with_climbs(session)
    before = rows(store)
    unsettled = merge_into(place_of(store), path)
    assert [c.what for c in unsettled.conflicts] == [
        f"climbs of C-01 (full power) in file {sha('log')[:12]}"
    ]
    assert "+700 ft/min" in unsettled.conflicts[0].theirs
    assert merge_into(place_of(store), path, Choices(side, {})).stored  # type: ignore[arg-type]
    with store.reading() as session:
        (climb,) = select_climbs(session)
    assert climb.rate_ftmin == (CLIMB.rate_ftmin if side == "mine" else 700.0)
    assert merge_into(place_of(store), path).conflicts == ()
    undo(store)
    assert rows(store) == before


@pytest.mark.long
def test_a_later_decision_on_a_climb_wins_and_adding_is_no_decision(tmp_path: Path) -> None:
    def decided(session: Session) -> None:
        with_climbs(session)
        (row,) = session.query(ClimbMeasurement).all()
        row.accepted, row.reason, row.decided_at = False, "gusts", LATER

    def added_later(session: Session) -> None:
        number = fly_file(session, "log", day=DAY)
        add_climbs(session, number, [CLIMB], now=LATER + timedelta(days=1))

    paths = shared(tmp_path, decided, added_later)
    for i, order in enumerate(permutations(paths)):
        target = tmp_path / f"target {i}.sqlite3"
        for path in order:
            merge_into(target, path)
        with open_store(target) as store, store.reading() as session:
            assert [c.reason for c in select_climbs(session)] == ["gusts"]


def test_a_filled_store_with_climbs_comes_out_equal(tmp_path: Path) -> None:
    with open_store(begun_at(tmp_path / "one.sqlite3")) as one:
        fill(one)
        path = write_share(one, tmp_path / "one.json")
        merge_into(tmp_path / "other.sqlite3", path)
        with open_store(tmp_path / "other.sqlite3") as other:
            expected, found = rows_without_numbers(one), rows_without_numbers(other)
            assert len(found["climb_measurement"]) == 5
            for table in set(expected) - set(KEPT):
                assert found[table] == expected[table], table


def test_a_file_of_the_first_version_is_read_and_its_empty_flights_left_out(
    tmp_path: Path,
) -> None:
    with open_store(begun_at(tmp_path / "store.sqlite3")) as store:
        fill(store)
        document = json.loads(shared_text(store))
    contents = document["contents"]
    entries = contents["things"]
    (alone,) = (
        t for t in entries["climbs"] if t["key"][0] == sha("climbs alone") and "idle" in t["key"]
    )
    del entries["climbs"], entries["cruise_table"], entries["thermometer"], contents["logs"]
    for flights in entries["flights"]:
        for stood in flights["state"]["sorties"]:
            del stood["powers"]
        without_owners(flights)
    empty = json.loads(json.dumps(entries["flights"][0]))
    empty["key"] = alone["key"][:2]
    (sortie,), (state,) = empty["content"]["sorties"], empty["state"]["sorties"]
    sortie.update(points=[], legs=[], flown_on="2020-03-01")
    state.update(decisions=[])
    entries["flights"].append(empty)
    raw = with_contents({**document, "version": 1}, contents)
    found = read_share(raw, "old.json", LATER)
    assert {entry.key[0] for entry in found.entries.values() if entry.kind == "flights"} == {
        sha("one"),
        sha("two"),
    }
    for entry in found.entries.values():
        if entry.kind == "flights":
            assert [state["powers"] for state in entry.state["sorties"]] == [[None] * 3]
    with pytest.raises(DataError, match=r"(logs|climbs|cruise_table|thermometer)' is missing"):
        read_share(with_contents(document, contents), "new.json", LATER)


@pytest.mark.long
def test_a_store_of_the_sixth_revision_keeps_its_climbs_and_knows_when_they_came(
    place: str,
) -> None:
    with filling(place, "0006") as session:
        save_description(session, FLEET)
        number = fly_file(session, "one")
    with engine_at(place) as engine, Store(engine, "of the sixth").writing() as session:
        session.execute(
            text(
                "INSERT INTO climb_measurement (sortie_id, number, kind, power_state,"
                " flap_setting, weight_kg, vic_kt, pressure_altitude_ft, oat_degc,"
                " indicated_rate_ftmin, rate_ftmin, u_own_ftmin, u_shared_ftmin,"
                " thrust_rate_ftmin, ways, accepted, reason, decided_at) VALUES"
                f" ({number}, 1, 'glide', 'idle', 'up', 590, 70, 4000, 9, -600, -610, 10, 2,"
                " 0, 2, true, '', '2024-05-06 07:08:09.123456')"
            )
        )
    before = all_values(place)
    with open_store(place, create=False) as store:
        after = all_values(place)
        added = {"kept_log", "log_piece", "cruise_power", "handbook_cruise"}
        added |= {"row_state", "history_link", "known_key"}
        assert set(after) - set(before) == added
        then = as_then(after, before)
        for name in set(before) - {"climb_measurement"}:
            assert then[name] == before[name]
        (then_row,), (new,) = before["climb_measurement"], after["climb_measurement"]
        assert new[:-1] == then_row
        assert new[-1] == then_row[-1]  # added when it was decided on
        with store.reading() as session:
            assert [c.rate_ftmin for c in select_climbs(session)] == [-610.0]
    step(place, "downgrade", "0006")
    assert all_values(place) == before


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"thrust_rate_ftmin": 5.0}, "glide with thrust"),
        ({"indicated_rate_ftmin": 5.0}, "opposite signs"),
        ({"decided_at": MOMENT - timedelta(days=1)}, "before it was added"),
        ({"sortie_id": 77}, "rows refer to no sortie"),
    ],
)
def test_a_check_of_the_store_finds_climbs_that_cannot_be(
    store_file: Path, wrong: dict[str, object], said: str
) -> None:
    with open_store(store_file) as store, store.writing() as session:
        save_description(session, FLEET)
        glides_alone(session)
        if "sortie_id" not in wrong:
            session.execute(update(ClimbMeasurement).values(wrong))
    if "sortie_id" in wrong:
        with (
            engine_at(str(store_file)) as engine,
            for_upgrading(engine).connect() as connection,
            connection.begin(),
        ):
            connection.execute(update(ClimbMeasurement).values(wrong))
    with open_store(store_file) as store:
        assert said in " ".join(fault.what for fault in check_store(store).faults)


def test_points_of_a_log_may_be_reduced_after_its_climbs(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
        climbs_alone(session)
    before = rows(store)
    with store.reading() as session:
        assert (
            known_reduction(
                session, sha("log"), Path("log.csv"), Given(FlightDetails(airframe="C-01"))
            )
            is None
        )
    sortie = NewSortie(
        airframe="C-01",
        flown_on=DAY,
        weight_kg=600.0,
        track_reference="true",
        settings_json='{"legs": {}}',
        note="points too",
    )
    with store.writing() as session:
        source = find_source(session, sha("log"))
        assert source is not None
        number = add_sortie(session, source, sortie, [LEG], points(2), now=LATER).id
    with store.reading() as session:
        (climb,) = select_climbs(session)
        assert {p.sortie_id for p in select_points(session)} == {climb.sortie_id} == {number}
        known = known_reduction(
            session, sha("log"), Path("log.csv"), Given(FlightDetails(airframe="C-01"))
        )
        assert known is not None
        assert known.points_known == 2
    undo(store)
    assert rows(store) == before
    other_day = replace(sortie, flown_on=date(2018, 1, 2))
    with store.writing() as session:
        source = find_source(session, sha("log"))
        assert source is not None
        with pytest.raises(DataError, match="stored as flown on 2018-01-01"):
            add_sortie(session, source, other_day, [], points(1))
