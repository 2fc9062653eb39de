from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store import (
    IssueSeries,
    Store,
    add_issue,
    find_issue,
    list_issues,
    load_description,
    next_issue_number,
    save_description,
    select_legs,
    withdraw_issue,
)
from tests.store.invented_rows import FLEET, ISSUE, MOMENT, SERIES, fly


@pytest.fixture
def fleet_store(store: Store) -> Store:
    with store.writing() as session:
        save_description(session, FLEET)
    return store


def issue(store: Store, series: IssueSeries = SERIES, **changes: object) -> int:
    with store.writing() as session:
        number = next_issue_number(session, series)
        add_issue(session, series, number, replace(ISSUE, **changes), now=MOMENT)  # type: ignore[arg-type]
    return number


def test_issues_are_numbered_from_one_in_each_series(fleet_store: Store) -> None:
    other = replace(SERIES, flap_setting="20")
    assert [issue(fleet_store), issue(fleet_store), issue(fleet_store, other)] == [1, 2, 1]
    with fleet_store.reading() as session:
        listed = list_issues(session)
        only = list_issues(session, other)
    assert [(line.flap_setting, line.number) for line in listed] == [
        ("20", 1),
        ("up", 1),
        ("up", 2),
    ]
    assert [line.number for line in only] == [1]


def test_an_issue_comes_back_as_it_went_in(fleet_store: Store) -> None:
    number = issue(fleet_store, why=" two more airframes ")
    with fleet_store.reading() as session:
        found = find_issue(session, SERIES, number)
    assert (found.inputs_json, found.table_json) == (ISSUE.inputs_json, ISSUE.table_json)
    assert found.line.why == "two more airframes"
    assert (found.line.issued_on, found.line.added_at) == (ISSUE.issued_on, MOMENT)
    assert found.line.withdrawn == ""


def test_a_withdrawn_issue_stays_with_its_reason_and_its_number_is_not_given_again(
    fleet_store: Store,
) -> None:
    issue(fleet_store)
    with fleet_store.writing() as session:
        withdraw_issue(session, SERIES, 1, " a sortie was wrong ", date(2024, 6, 1))
    assert issue(fleet_store) == 2
    with fleet_store.reading() as session:
        line = find_issue(session, SERIES, 1).line
    assert (line.withdrawn, line.withdrawn_on) == ("a sortie was wrong", date(2024, 6, 1))
    with pytest.raises(DataError, match="withdrawn already"), fleet_store.writing() as session:
        withdraw_issue(session, SERIES, 1, "again", date(2024, 6, 2))


def test_no_reason_no_issue_and_no_withdrawal(fleet_store: Store) -> None:
    with pytest.raises(DataError, match="no reason was given"):
        issue(fleet_store, why="  ")
    issue(fleet_store)
    with pytest.raises(DataError, match="no reason was given"), fleet_store.writing() as session:
        withdraw_issue(session, SERIES, 1, " ", date(2024, 6, 1))


def test_an_unknown_issue_or_type_and_a_taken_number_are_refused(fleet_store: Store) -> None:
    issue(fleet_store)
    with pytest.raises(UnknownNameError) as caught, fleet_store.reading() as session:
        find_issue(session, SERIES, 7)
    assert caught.value.hint == "issues of it: 1"
    with pytest.raises(UnknownNameError, match="Corrie 9"):
        issue(fleet_store, replace(SERIES, type="Corrie 9"))
    with pytest.raises(DataError, match="issue 1 of"), fleet_store.writing() as session:
        add_issue(session, SERIES, 1, ISSUE)
    with pytest.raises(DataError, match="sha256_length"):
        issue(fleet_store, inputs_sha256="short")


def test_handbook_speeds_are_replaced_when_given_and_kept_when_not(fleet_store: Store) -> None:
    (book,) = FLEET.handbooks
    changed = replace(book, speeds=(("stall", 62.0),))
    for speeds, outcome in ((changed, 1), (replace(book, speeds=()), 0)):
        with fleet_store.writing() as session:
            counts = save_description(session, replace(FLEET, handbooks=(speeds,)))
        assert counts.changed == outcome
    with fleet_store.reading() as session:
        assert load_description(session).handbooks[0].speeds == (("stall", 62.0),)


@pytest.mark.parametrize(
    ("speeds", "words"),
    [
        ((("stall", 0.0),), "lacks name or value"),
        (((" ", 50.0),), "lacks name or value"),
        ((("stall", 50.0), ("stall", 51.0)), "2 times"),
    ],
)
def test_a_speed_without_name_or_value_or_named_twice_is_refused(
    fleet_store: Store, speeds: tuple[tuple[str, float], ...], words: str
) -> None:
    (book,) = FLEET.handbooks
    with pytest.raises(DataError, match=words), fleet_store.writing() as session:
        save_description(session, replace(FLEET, handbooks=(replace(book, speeds=speeds),)))
    with fleet_store.reading() as session:
        assert load_description(session) == FLEET


def test_legs_come_by_sortie_in_order_and_for_one_airframe_alone(fleet_store: Store) -> None:
    with fleet_store.writing() as session:
        first = fly(session)
        second = fly(session, "C-02", date(2020, 2, 29))
    with fleet_store.reading() as session:
        every, own = select_legs(session), select_legs(session, "C-02")
    assert set(every) == {first, second}
    assert set(own) == {second}
    assert [(leg.run_number, leg.leg_number) for leg in every[first]] == [
        (1, number) for number in (1, 2, 3, 4)
    ]
