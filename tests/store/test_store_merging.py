"""Two stores become one: shared, merged, conflicts settled by choice, nothing half-written."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from fleetcal.errors import DataError, FleetcalError
from fleetcal.services.sharing.merge_share import Choices, merge
from fleetcal.services.sharing.share_store import ShareChoice
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    NewBenchCheck,
    NewLeakCheck,
    PointFilter,
    PropellerDescription,
    Store,
    accept_points,
    add_bench_check,
    add_issue,
    add_leak_check,
    add_source,
    find_issue,
    list_bench_checks,
    list_leak_checks,
    load_description,
    open_store,
    reject_points,
    revise_description,
    save_description,
    select_points,
    withdraw_issue,
)
from fleetcal.store.history_guard import KEPT
from fleetcal.store.models import ReplacedVersion
from tests.store.invented_rows import FLEET, MOMENT, SERIES, WING
from tests.store.invented_shares import (
    LATER,
    REGISTRATION,
    fill,
    fly_file,
    issue,
    merge_into,
    rows_without_numbers,
    sha,
    shared_text,
    with_contents,
    write_share,
)

Make = Callable[[str], Store]


@pytest.fixture
def make(tmp_path: Path, begun_file: Path, request: pytest.FixtureRequest) -> Make:
    """Return a function that opens a store by name, with the fleet in it."""

    def opened(name: str) -> Store:
        path = tmp_path / f"{name}.sqlite3"
        path.write_bytes(begun_file.read_bytes())
        store = open_store(path)
        request.addfinalizer(store.close)
        with store.writing() as session:
            save_description(session, FLEET)
        return store

    return opened


def file_of(store: Store) -> Path:
    return Path(store.label)


def test_sharing_and_merging_into_an_empty_store_gives_an_equal_store(
    store: Store, tmp_path: Path, begun_file: Path
) -> None:
    fill(store)
    path = write_share(store, tmp_path / "all.json")
    other_file = tmp_path / "other.sqlite3"
    done = merge_into(other_file, path)
    assert done.stored
    assert (done.corrected, done.brought_up_to_date, done.unchanged) == (0, 0, 0)
    with open_store(other_file) as other:
        assert shared_text(other) == shared_text(store)
        theirs, mine = rows_without_numbers(other), rows_without_numbers(store)
        assert set(mine) == set(theirs)
        for table in mine:
            if store.label.endswith("sqlite3") and table not in KEPT:
                assert theirs[table] == mine[table], table
        with store.reading() as one, other.reading() as two:
            assert load_description(one) == load_description(two)
            assert [replace(p, point_id=0, sortie_id=0) for p in select_points(one)] == [
                replace(p, point_id=0, sortie_id=0) for p in select_points(two)
            ]


def test_a_server_takes_a_share_file_like_a_file_does(
    store: Store, tmp_path: Path, make: Make
) -> None:
    source = make("source")
    with source.writing() as session:
        fly_file(session, "one")
    path = write_share(source, tmp_path / "one.json")
    where = store._engine.url if store._engine.dialect.name != "sqlite" else None
    place = where.render_as_string(hide_password=False) if where is not None else store.label
    assert merge_into(place, path).stored
    assert merge_into(place, path).added == 0
    assert shared_text(store) == shared_text(source)


def test_the_same_file_twice_adds_nothing(make: Make, tmp_path: Path) -> None:
    source = make("source")
    fill(source)
    path = write_share(source, tmp_path / "all.json")
    merge_into(tmp_path / "other.sqlite3", path)
    before = (tmp_path / "other.sqlite3").read_bytes()
    done = merge_into(tmp_path / "other.sqlite3", path)
    assert (done.added, done.corrected, done.brought_up_to_date) == (0, 0, 0)
    assert done.unchanged > 10
    assert (tmp_path / "other.sqlite3").read_bytes() == before


def test_the_same_store_shares_the_same_bytes(make: Make, tmp_path: Path) -> None:
    source = make("source")
    fill(source)
    one, two = write_share(source, tmp_path / "1.json"), write_share(source, tmp_path / "2.json")
    assert one.read_bytes() == two.read_bytes()


def test_registrations_are_left_out_wherever_they_stand(make: Make, tmp_path: Path) -> None:
    source = make("source")
    fill(source)
    quiet = write_share(source, tmp_path / "quiet.json", ShareChoice()).read_text()
    assert REGISTRATION not in quiet
    assert REGISTRATION.replace("-", "") not in quiet
    assert "C-01 flight.csv" in quiet
    assert REGISTRATION in write_share(source, tmp_path / "told.json").read_text()
    merge_into(tmp_path / "other.sqlite3", tmp_path / "quiet.json")
    done = merge_into(tmp_path / "other.sqlite3", tmp_path / "told.json")
    assert (done.added, done.conflicts) == (1, ())
    with open_store(tmp_path / "other.sqlite3") as other, other.reading() as session:
        assert load_description(session).airframes[0].registration == REGISTRATION


def test_a_choice_of_airframes_takes_along_what_it_needs_and_no_more(
    make: Make, tmp_path: Path
) -> None:
    source = make("source")
    fill(source)
    path = write_share(
        source, tmp_path / "part.json", ShareChoice(airframes=["C-02"], registrations=True)
    )
    merge_into(tmp_path / "other.sqlite3", path)
    with open_store(tmp_path / "other.sqlite3") as other, other.reading() as session:
        fleet = load_description(session)
        assert [one.tag for one in fleet.airframes] == ["C-02"]
        assert fleet.engines == ("100 kW turbo four",)
        assert {p.airframe for p in select_points(session)} == {"C-02"}
    whole = write_share(source, tmp_path / "all.json")
    assert merge_into(tmp_path / "other.sqlite3", whole).conflicts == ()
    with open_store(tmp_path / "other.sqlite3") as other:
        merge_into(tmp_path / "fresh.sqlite3", whole)
        with open_store(tmp_path / "fresh.sqlite3") as fresh:
            assert shared_text(other) == shared_text(fresh)


@pytest.mark.parametrize("first", ["one", "two"])
def test_the_later_decision_on_a_point_wins_and_storing_is_no_decision(
    make: Make, tmp_path: Path, first: str
) -> None:
    one, two = make("one"), make("two")
    with one.writing() as session:
        fly_file(session, "flight")
        reject_points(session, [1, 2], "loose", MOMENT + timedelta(hours=1))
    with two.writing() as session:  # read later, and nothing decided but point 2
        fly_file(session, "flight", now=MOMENT + timedelta(hours=2))
        accept_points(session, [2], MOMENT + timedelta(hours=3))
    paths = {"one": write_share(one, tmp_path / "1.json"), "two": write_share(two, tmp_path / "2")}
    target = tmp_path / "target.sqlite3"
    for name in (first, *(set(paths) - {first})):
        merge_into(target, paths[name])
    with open_store(target) as store, store.reading() as session:
        found = [(p.number, p.accepted, p.reason) for p in select_points(session)]
    assert found == [(1, False, "loose"), (2, True, ""), (3, True, "")]


def test_a_correction_of_the_fleet_wins_without_a_choice_in_either_order(
    make: Make, tmp_path: Path
) -> None:
    old, new = make("old"), make("new")
    airframe = replace(FLEET.airframes[0], note="repainted")
    with new.writing() as session:
        revise_description(session, replace(FLEET, airframes=(airframe,)))
    paths = [write_share(old, tmp_path / "old.json"), write_share(new, tmp_path / "new.json")]
    for order in (paths, paths[::-1]):
        target = tmp_path / f"{order[0].stem}.target"
        for path in order:
            assert merge_into(target, path).conflicts == ()
        with open_store(target) as store, store.reading() as session:
            assert load_description(session).airframes[0].note == "repainted"


def saying(pitch: str) -> FleetDescription:
    return FleetDescription(propellers=(PropellerDescription("two-blade fixed", pitch),))


def test_a_pitch_that_somebody_said_takes_the_place_of_one_that_nobody_said(
    make: Make, tmp_path: Path
) -> None:
    paths = []
    for name, pitch in (("unsaid", ""), ("said", "fixed")):
        with make(f"{name}.store") as store:
            with store.writing() as session:
                save_description(session, saying(pitch))
            paths.append(write_share(store, tmp_path / f"{name}.json"))
    for order in (paths, paths[::-1]):
        target = tmp_path / f"{order[0].stem}.target"
        for path in order:
            assert merge_into(target, path).conflicts == ()
        with open_store(target) as store, store.reading() as session:
            found = {one.name: one.pitch for one in load_description(session).propellers}
            assert found["two-blade fixed"] == "fixed"


def test_two_pitches_of_one_propeller_are_a_conflict(make: Make, tmp_path: Path) -> None:
    paths = []
    for name, pitch in (("one", "fixed"), ("other", "constant speed")):
        with make(f"{name}.store") as store:
            with store.writing() as session:
                save_description(session, saying(pitch))
            paths.append(write_share(store, tmp_path / f"{name}.json"))
    merge_into(tmp_path / "target.sqlite3", paths[0])
    (conflict,) = merge_into(tmp_path / "target.sqlite3", paths[1]).conflicts
    assert "propeller two-blade fixed" in str(conflict)


@pytest.mark.parametrize(("side", "weight_kg"), [("mine", 590.0), ("theirs", 570.0)])
def test_one_flight_reduced_differently_is_a_conflict_until_somebody_chooses(
    make: Make, tmp_path: Path, side: str, weight_kg: float
) -> None:
    mine, theirs = make("mine"), make("theirs")
    with mine.writing() as session:
        fly_file(session, "flight")
    with theirs.writing() as session:
        fly_file(session, "flight", weight_kg=570.0, shift=0.001)
    path = write_share(theirs, tmp_path / "theirs.json")
    before = file_of(mine).read_bytes()
    listed = merge_into(file_of(mine), path)
    assert not listed.stored
    assert file_of(mine).read_bytes() == before
    (conflict,) = listed.conflicts
    assert "590 kg" in conflict.mine
    assert "570 kg" in conflict.theirs
    choice = Choices(None, {conflict.conflict: side})  # type: ignore[dict-item]
    assert merge_into(file_of(mine), path, choice).stored
    assert merge_into(file_of(mine), path).conflicts == ()
    with mine.reading() as session:
        assert {p.weight_kg for p in select_points(session)} == {weight_kg}
        assert len(select_points(session)) == 3
        (kept,) = session.scalars(select(ReplacedVersion))
        assert json.loads(kept.content_json)["sorties"][0]["weight_kg"] == 1160.0 - weight_kg
    # The one who was overruled takes the settled store without being asked again.
    settled = write_share(mine, tmp_path / "settled.json")
    assert merge_into(file_of(theirs), settled).conflicts == ()
    assert shared_text(theirs) == shared_text(mine)


def test_a_choice_for_a_conflict_that_is_not_there_is_refused(make: Make, tmp_path: Path) -> None:
    path = write_share(make("source"), tmp_path / "s.json")
    with pytest.raises(DataError, match="no conflict 01234567"):
        merge_into(file_of(make("other")), path, Choices(None, {"01234567": "mine"}))


@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_one_log_for_two_airframes_is_a_conflict(make: Make, tmp_path: Path, side: str) -> None:
    mine, theirs = make("mine"), make("theirs")
    with mine.writing() as session:
        fly_file(session, "flight", "C-01")
    with theirs.writing() as session:
        fly_file(session, "flight", "C-02")
    path = write_share(theirs, tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(mine), path).conflicts
    assert "two airframes" in conflict.what
    assert merge_into(file_of(mine), path, Choices(side, {})).stored  # type: ignore[arg-type]
    with mine.reading() as session:
        (owner,) = {p.airframe for p in select_points(session)}
    assert owner == {"mine": "C-01", "theirs": "C-02"}[side]
    assert merge_into(file_of(mine), path).conflicts == ()


@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_the_same_points_from_two_files_are_a_conflict(
    make: Make, tmp_path: Path, side: str
) -> None:
    mine, theirs = make("mine"), make("theirs")
    for store, word in ((mine, "flight"), (theirs, "export")):
        with store.writing() as session:
            shift = 0.0 if word == "flight" else 0.001
            fly_file(session, word, shift=shift)
    with theirs.writing() as session:
        kappa = {p.number: p.kappa for p in select_points(session)}[1]
    with mine.writing() as session:
        fly_file(session, "twin", shift=kappa - (-0.0125 + int(sha("twin")[:4], 16) / 1e7))
        assert any(p.kappa == kappa for p in select_points(session))
    path = write_share(theirs, tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(mine), path).conflicts
    assert "two files" in conflict.what
    assert merge_into(file_of(mine), path, Choices(side, {})).stored  # type: ignore[arg-type]
    with mine.reading() as session:
        names = {p.source_name for p in select_points(session)}
    assert names == {"flight.csv", {"mine": "twin.csv", "theirs": "export.csv"}[side]}


@pytest.mark.parametrize(("side", "standing"), [("mine", 0.4), ("theirs", 0.7)])
def test_of_two_bench_checks_of_one_day_one_is_withdrawn_by_choice(
    make: Make, tmp_path: Path, side: str, standing: float
) -> None:
    stores = make("mine"), make("theirs")
    for store, u in zip(stores, (0.4, 0.7), strict=True):
        with store.writing() as session:
            source = add_source(session, sha(f"bench {u}"), "b.csv", "bench", now=MOMENT)
            check = NewBenchCheck(
                airframe="C-02",
                kind="airspeed",
                checked_on=date(2019, 5, 1),
                u=u,
                rows=((60.0, 0.5),),
            )
            add_bench_check(session, source, check, now=MOMENT)
    path = write_share(stores[1], tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(stores[0]), path).conflicts
    assert "one day" in conflict.what
    merge_into(file_of(stores[0]), path, Choices(side, {}))  # type: ignore[arg-type]
    with stores[0].reading() as session:
        checks = list_bench_checks(session)
    assert [check.u for check in checks if not check.withdrawn] == [standing]
    assert len(checks) == 2
    assert merge_into(file_of(stores[0]), path).conflicts == ()


NEW_FIT = FitDescription(
    from_date=date(2018, 6, 1),
    static_source=WING,
    engine="100 kW turbo four",
    propeller="three-blade constant-speed",
)


@pytest.mark.parametrize(("side", "port"), [("mine", "tail-boom flush pair"), ("theirs", WING)])
def test_a_fit_that_would_put_other_equipment_under_stored_flights_is_a_conflict(
    make: Make, tmp_path: Path, side: str, port: str
) -> None:
    mine, theirs = make("mine"), make("theirs")
    with mine.writing() as session:
        fly_file(session, "mine", day=date(2018, 9, 1))
    with theirs.writing() as session:
        airframe = AirframeDescription(tag="C-01", type="Corrie 2", fits=(NEW_FIT,))
        save_description(session, replace(FLEET, airframes=(airframe,)))
        fly_file(session, "theirs", day=date(2018, 9, 2))
    path = write_share(theirs, tmp_path / "theirs.json")
    listed = merge_into(file_of(mine), path)
    assert not listed.stored
    assert "would count as wing boom" in listed.conflicts[-1].what
    merge_into(file_of(mine), path, Choices(side, {}))  # type: ignore[arg-type]
    with mine.reading() as session:
        assert {p.static_source for p in select_points(session)} == {port}
        names = {p.source_name for p in select_points(session)}
    # Without the fit their flights would count under the wrong port, so they stay out as well.
    assert names == ({"mine.csv"} if side == "mine" else {"mine.csv", "theirs.csv"})


def test_two_issues_of_one_number_are_a_conflict_and_neither_is_lost(
    make: Make, tmp_path: Path
) -> None:
    mine, theirs = make("mine"), make("theirs")
    for store, why in ((mine, "annual"), (theirs, "new port")):
        with store.writing() as session:
            add_issue(session, SERIES, 1, issue(why), now=MOMENT)
    path = write_share(theirs, tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(mine), path).conflicts
    assert (conflict.mine, conflict.theirs) == ("why annual", "why new port")
    merge_into(file_of(mine), path, Choices("theirs", {}))
    with mine.reading() as session:
        assert find_issue(session, SERIES, 1).line.why == "new port"
        (kept,) = session.scalars(select(ReplacedVersion))
    assert json.loads(kept.content_json)["why"] == "annual"


def test_a_file_that_breaks_a_rule_of_the_tables_late_leaves_nothing_behind(
    make: Make, tmp_path: Path
) -> None:
    source, target = make("source"), make("target")
    fill(source)
    document = json.loads(write_share(source, tmp_path / "s.json").read_text())
    leg = document["contents"]["things"]["flights"][-1]["content"]["sorties"][0]["legs"][0]
    leg["stop_s"] = leg["start_s"] - 1.0
    bad = tmp_path / "bad.json"
    bad.write_bytes(with_contents(document, document["contents"]))
    before = file_of(target).read_bytes()
    with pytest.raises(FleetcalError, match="stop_after_start"):
        merge_into(file_of(target), bad, Choices("theirs", {}))
    assert file_of(target).read_bytes() == before


def test_a_value_that_its_column_cannot_have_is_refused_with_its_place(
    make: Make, tmp_path: Path
) -> None:
    source, target = make("source"), make("target")
    fill(source)
    document = json.loads(write_share(source, tmp_path / "s.json").read_text())
    point = document["contents"]["things"]["flights"][-1]["content"]["sorties"][0]["points"][0]
    point["u_kappa"] = -1.0
    bad = tmp_path / "bad.json"
    bad.write_bytes(with_contents(document, document["contents"]))
    before = file_of(target).read_bytes()
    with pytest.raises(FleetcalError, match="points 1, u_kappa: is not above zero"):
        merge_into(file_of(target), bad)
    assert file_of(target).read_bytes() == before


def test_a_refused_file_does_not_even_begin_a_store(make: Make, tmp_path: Path) -> None:
    path = write_share(make("source"), tmp_path / "s.json")
    path.write_bytes(path.read_bytes().replace(b"600.0", b"601.0"))
    with pytest.raises(DataError, match="checksum"):
        merge(lambda: open_store(tmp_path / "none.sqlite3"), path, Choices(None, {}))
    assert not (tmp_path / "none.sqlite3").exists()


def test_a_withdrawal_reaches_the_other_store_and_is_not_taken_back(
    make: Make, tmp_path: Path
) -> None:
    one, two = make("one"), make("two")
    for store in (one, two):
        with store.writing() as session:
            add_issue(session, SERIES, 1, issue(), now=LATER)
    fresh = write_share(two, tmp_path / "standing.json")
    with one.writing() as session:
        withdraw_issue(session, SERIES, 1, "wrong port", date(2024, 9, 1))
    path = write_share(one, tmp_path / "withdrawn.json")
    for given in (path, fresh):
        merge_into(file_of(two), given)
    with two.reading() as session:
        assert find_issue(session, SERIES, 1).line.withdrawn == "wrong port"
        assert select_points(session, PointFilter()) == []


def test_leak_checks_of_one_day_count_in_the_order_entered_however_they_were_merged(
    make: Make, tmp_path: Path
) -> None:
    morning, evening = make("morning"), make("evening")
    for store, loss_ft, now in ((morning, 140.0, MOMENT), (evening, 30.0, LATER)):
        with store.writing() as session:
            leak = NewLeakCheck(
                airframe="C-02",
                checked_on=date(2021, 5, 1),
                loss_ft=loss_ft,
                limit_ft=100.0,
                limit_source="invented",
            )
            add_leak_check(session, leak, now=now)
    paths = [write_share(morning, tmp_path / "m.json"), write_share(evening, tmp_path / "e.json")]
    for order in (paths, paths[::-1]):
        target = tmp_path / f"{order[0].stem}.target"
        for path in order:
            merge_into(target, path)
        with open_store(target) as store, store.reading() as session:
            assert [c.passed for c in list_leak_checks(session)] == [False, True]
