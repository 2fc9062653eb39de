"""A store of the third revision, with rows, learns to remember what was replaced."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import text

from fleetcal.errors import DataError
from fleetcal.store import (
    add_issue,
    open_store,
    revise_description,
    save_description,
    select_points,
)
from tests.older_store import all_values, as_then, filling, step
from tests.store.invented_rows import (
    FLEET,
    ISSUE,
    MOMENT,
    SERIES,
    check_on_bench,
    fly,
    replace_a_note,
    row_counts,
)

pytestmark = pytest.mark.long

PLAIN = tuple(replace(propeller, pitch="") for propeller in FLEET.propellers)
FLEET = replace(FLEET, propellers=PLAIN)
NEW_TABLES = {"replaced_version", "store_change", "changed_row", "climb_measurement"}
NEW_TABLES |= {"kept_log", "log_piece"}
NEW_TABLES |= {"cruise_power", "handbook_cruise", "known_key"}
CHAIN = {"row_state", "history_link"}  # of what is there already


@pytest.fixture
def third_place(place: str) -> str:
    """A store of the third revision with rows in every table it has."""
    with filling(place, "0003") as session:
        save_description(session, FLEET)
        fly(session)
        fly(session, "C-02", date(2020, 2, 29))
        check_on_bench(session)
        add_issue(session, SERIES, 1, ISSUE, now=MOMENT)
    return place


def test_every_value_is_kept_and_a_correction_is_remembered(third_place: str) -> None:
    before = all_values(third_place)
    assert all(before.values())
    with open_store(third_place, create=False) as store:
        after = all_values(third_place)
        assert as_then(after, before) == before
        assert set(after) - set(before) == NEW_TABLES | CHAIN
        assert not any(after[name] for name in NEW_TABLES)
        airframe = replace(FLEET.airframes[0], note="repainted")
        with store.writing() as session:
            assert revise_description(session, replace(FLEET, airframes=(airframe,))).changed == 1
        with store.reading() as session:
            assert len(select_points(session)) == 6
            assert row_counts(session)["replaced_version"] == 1


def test_going_back_takes_only_the_new_table_away(third_place: str) -> None:
    before = all_values(third_place)
    with open_store(third_place) as store, store.writing() as session:
        replace_a_note(session)
    step(third_place, "downgrade", "0003")
    assert all_values(third_place) == before


def test_the_upgraded_store_itself_refuses_a_digest_of_another_length(third_place: str) -> None:
    wrong = text(
        "INSERT INTO replaced_version (kind, thing_key, digest, content_json, why, replaced_at)"
        " VALUES ('airframe', '[]', 'abc', '', '', '2024-01-01')"
    )
    with (
        open_store(third_place) as store,
        pytest.raises(DataError, match="digest_length"),
        store.writing() as session,
    ):
        session.execute(wrong)
