"""A store of the second revision, with rows, gains handbook speeds and issues and loses nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import update

from fleetcal.errors import DataError
from fleetcal.store import (
    add_issue,
    list_issues,
    load_description,
    open_store,
    save_description,
    select_points,
)
from fleetcal.store.models import PublishedIssue
from tests.older_store import all_values, as_then, filling, step
from tests.store.invented_rows import FLEET, ISSUE, MOMENT, SERIES, check_on_bench, fly, row_counts

pytestmark = pytest.mark.long

PLAIN = tuple(replace(propeller, pitch="") for propeller in FLEET.propellers)
FLEET = replace(FLEET, propellers=PLAIN)
OLD_FLEET = replace(FLEET, handbooks=tuple(replace(book, speeds=()) for book in FLEET.handbooks))
NEW_TABLES = {"handbook_speed", "published_issue", "climb_measurement"}
NEW_TABLES |= {"replaced_version", "store_change", "changed_row", "kept_log", "log_piece"}
NEW_TABLES |= {"cruise_power", "handbook_cruise", "known_key"}
CHAIN = {"row_state", "history_link"}  # of what is there already


@pytest.fixture
def second_place(place: str) -> str:
    """A store of the second revision with rows in every table it has."""
    with filling(place, "0002") as session:
        save_description(session, OLD_FLEET)
        fly(session)
        fly(session, "C-02", date(2020, 2, 29))
        check_on_bench(session)
    return place


def test_every_value_is_kept_and_the_new_tables_are_empty(second_place: str) -> None:
    before = all_values(second_place)
    assert all(before.values())
    with open_store(second_place, create=False) as store:
        after = all_values(second_place)
        assert as_then(after, before) == before
        assert set(after) - set(before) == NEW_TABLES | CHAIN
        assert not any(after[name] for name in NEW_TABLES)
        with store.reading() as session:
            assert load_description(session) == OLD_FLEET
            assert len(select_points(session)) == 6
        with store.writing() as session:
            assert save_description(session, FLEET).changed == 1
            add_issue(session, SERIES, 1, ISSUE, now=MOMENT)
        with store.reading() as session:
            counts = row_counts(session)
            assert load_description(session) == FLEET
    assert (counts["handbook_speed"], counts["published_issue"]) == (2, 1)


def test_going_back_takes_only_the_new_tables_away(second_place: str) -> None:
    before = all_values(second_place)
    with open_store(second_place) as store, store.writing() as session:
        save_description(session, FLEET)
        add_issue(session, SERIES, 1, ISSUE, now=MOMENT)
    step(second_place, "downgrade", "0002")
    assert all_values(second_place) == before
    with open_store(second_place) as store, store.reading() as session:
        assert list_issues(session) == []


def test_the_upgraded_store_itself_refuses_a_withdrawal_without_its_day(second_place: str) -> None:
    with open_store(second_place) as store:
        with store.writing() as session:
            add_issue(session, SERIES, 1, ISSUE, now=MOMENT)
        with pytest.raises(DataError, match="withdrawn_with_day"), store.writing() as session:
            session.execute(update(PublishedIssue).values(withdrawn="no day"))
