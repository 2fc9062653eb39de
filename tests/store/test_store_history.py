"""What is written is written down with it, can be read per airframe and point, and taken back."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import inspect, text
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.services.sharing.merge_share import Choices
from fleetcal.store import (
    FitDescription,
    Store,
    open_store,
    reject_points,
    revise_description,
    save_description,
    select_points,
)
from fleetcal.store.history_rows import list_history
from fleetcal.store.undoing import undo_change
from tests.older_store import all_values, as_then, filling, step
from tests.store.invented_rows import FLEET, MOMENT
from tests.store.invented_shares import (
    LATER,
    fill,
    fly_file,
    merge_into,
    rows_without_numbers,
    shared_text,
    write_share,
)
from tests.store_places import begun_at

HISTORY = ("store_change", "changed_row", "row_state", "history_link")


def rows(store: Store) -> dict[str, list[tuple[object, ...]]]:
    """Every row with its number, but for the history."""
    with store.reading() as session:
        connection = session.connection()
        names = set(inspect(connection).get_table_names()) - {*HISTORY, "fleetcal_revision"}
        return {
            name: [tuple(r) for r in connection.execute(text(f"SELECT * FROM {name} ORDER BY id"))]
            for name in names
        }


def undo(store: Store, number: int | None = None) -> int:
    with store.writing() as session:
        return undo_change(session, number)[1]


def test_every_step_of_a_point_can_be_read(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.writing() as session:
        fly_file(session, "one")
        fly_file(session, "two", "C-02", date(2020, 2, 29))
    with store.writing() as session:
        reject_points(session, [2], "loose", LATER)
    with store.reading() as session:
        told = [(line.act, line.table) for line in list_history(session, point_id=2)]
        last = list_history(session, point_id=2)[-1]
        assert told == [("added", "sortie"), ("changed", "calibration_point")]
        values = json.loads(last.values)
        assert values["accepted"] == [True, False]
        assert values["reason"] == ["", "loose"]
        assert last.made_by
        assert {line.airframe for line in list_history(session, "C-02")} == {"C-02"}
        assert {line.table for line in list_history(session, "C-02")} == {
            "airframe",
            "equipment_fit",
            "sortie",
        }
        with pytest.raises(UnknownNameError, match="no point 99"):
            list_history(session, point_id=99)


def fly_file_and_fail(session: Session) -> None:
    fly_file(session, "one")
    fly_file(session, "two", weight_kg=-1.0)


def test_what_fails_leaves_no_history(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.reading() as session:
        before = len(list_history(session))
    with pytest.raises(DataError), store.writing() as session:
        fly_file_and_fail(session)
    with store.reading() as session:
        assert len(list_history(session)) == before


def test_each_change_is_taken_back_to_the_row_until_nothing_is_left(store: Store) -> None:
    states = [rows(store)]

    def done() -> None:
        states.append(rows(store))

    fill_in_steps = (
        lambda s: save_description(s, FLEET),
        lambda s: fly_file(s, "one"),
        lambda s: reject_points(s, [1, 3], "loose", LATER),
        lambda s: revise_description(
            s, replace(FLEET, handbooks=(replace(FLEET.handbooks[0], rows=((60.0, 62.0),)),))
        ),
    )
    for act in fill_in_steps:
        with store.writing() as session:
            act(session)
        done()
    while len(states) > 1:
        assert rows(store) == states.pop()
        assert undo(store) > 0
    assert rows(store) == states[0]
    with store.reading() as session:
        lines = list_history(session)
        back = [line for line in lines if line.table == "store_change"]
        assert all(line.undone for line in lines if line not in back)
        assert [line.row_id for line in back] == [4, 3, 2, 1]
    with pytest.raises(UnknownNameError, match="no such change"):
        undo(store)


@pytest.mark.long
@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_a_merge_with_conflicts_is_taken_back_whole(
    store: Store, tmp_path: Path, side: str
) -> None:
    with open_store(begun_at(tmp_path / "theirs.sqlite3")) as theirs:
        fill(theirs)
        with theirs.writing() as session:
            fit = FitDescription(
                from_date=date(2017, 1, 1),
                static_source="wing boom",
                engine="75 kW four",
                propeller="two-blade fixed",
            )
            airframe = replace(FLEET.airframes[0], note="blue", fits=())
            save_description(session, replace(FLEET, airframes=(airframe,)))
            fly_file(session, "three", "C-02", weight_kg=570.0)
        path = write_share(theirs, tmp_path / "theirs.json")
    assert fit.from_date.year == 2017
    with store.writing() as session:
        save_description(session, FLEET)
        fly_file(session, "three", "C-02")
        fly_file(session, "one", now=MOMENT + timedelta(hours=1))
    before, told = rows(store), shared_text(store)
    url = store._engine.url
    is_file = store._engine.dialect.name == "sqlite"
    place = store.label if is_file else url.render_as_string(hide_password=False)
    assert merge_into(place, path, Choices(side, {})).stored  # type: ignore[arg-type]
    assert rows(store) != before
    undo(store)
    assert rows(store) == before
    assert shared_text(store) == told
    assert merge_into(place, path, Choices(side, {})).stored  # type: ignore[arg-type]


def test_what_later_work_rests_on_is_not_taken_back(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.writing() as session:
        fly_file(session, "one")
    with store.writing() as session:
        reject_points(session, [2], "loose", LATER)
    before = rows_without_numbers(store)
    for number in (1, 2):
        with pytest.raises(DataError, match=f"change {number} cannot be taken back"):
            undo(store, number)
        assert rows_without_numbers(store) == before
    undo(store, 3)
    undo(store, 2)
    with store.reading() as session:
        assert select_points(session) == []
    with pytest.raises(DataError, match="taken back already"):
        undo(store, 2)


@pytest.mark.long
def test_a_store_of_the_fourth_revision_gains_a_history_and_loses_nothing(place: str) -> None:
    with filling(place, "0004") as session:
        revise_description(session, FLEET)
        revise_description(session, replace(FLEET, airframes=(), engines=("75 kW four",)))
        fly_file(session, "one")
    before = all_values(place)
    with open_store(place, create=False) as store:
        after = all_values(place)
        assert as_then(after, before) == before
        new = {"climb_measurement", "kept_log", "log_piece", "cruise_power", "handbook_cruise"}
        new |= {"known_key"}
        assert set(after) - set(before) == {*HISTORY, *new}
        assert not any(after[name] for name in ("store_change", "changed_row"))
        with store.writing() as session:
            reject_points(session, [1], "loose", LATER)
        undo(store)
    step(place, "downgrade", "0004")
    assert all_values(place) == before
