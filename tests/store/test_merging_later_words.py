"""Where two stores merge, what was said later or by somebody counts without a choice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from fleetcal.store import (
    FleetDescription,
    NewLeakCheck,
    PointFilter,
    PropellerDescription,
    accept_points,
    add_issue,
    add_leak_check,
    find_issue,
    list_leak_checks,
    load_description,
    open_store,
    reject_points,
    revise_description,
    save_description,
    select_points,
    withdraw_issue,
)
from tests.store.invented_rows import FLEET, MOMENT, SERIES
from tests.store.invented_shares import (
    LATER,
    Make,
    file_of,
    fly_file,
    issue,
    merge_into,
    write_share,
)


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


@pytest.mark.long
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


@pytest.mark.long
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


@pytest.mark.long
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
