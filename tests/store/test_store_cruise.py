"""The power of runs goes in and comes out with its points; so do cruise tables of handbooks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store import (
    FleetDescription,
    PointFilter,
    PowerNote,
    Store,
    forget_power,
    load_cruise_tables,
    note_powers,
    save_description,
    select_cruise,
)
from fleetcal.store.history_rows import list_history
from fleetcal.store.undoing import undo_change
from tests.store.invented_rows import CRUISE_TABLE, FLEET, MOMENT, fly

NOTE = PowerNote(
    point_id=2,
    power_pct=65.0,
    u_power_pct=3.0,
    basis="standard air",
    origin="hand",
    note="from the chart",
)


@pytest.fixture
def flown(store: Store) -> Store:
    with store.writing() as session:
        save_description(session, FLEET)
    with store.writing() as session:
        fly(session)
    return store


def test_a_power_comes_out_with_its_point_and_is_changed_by_another(flown: Store) -> None:
    with flown.writing() as session:
        assert note_powers(session, [NOTE], MOMENT) == 1
        assert note_powers(session, [NOTE], MOMENT) == 0
        assert note_powers(session, [replace(NOTE, power_pct=70.0)], MOMENT) == 1
    with flown.reading() as session:
        (row,) = select_cruise(session)
        assert row.power == replace(NOTE, power_pct=70.0)
        assert (row.point.point_id, row.point.airframe) == (2, "C-01")
        assert select_cruise(session, PointFilter(airframe="C-02")) == []


def test_a_power_has_a_history_and_can_be_taken_back(flown: Store) -> None:
    with flown.writing() as session:
        note_powers(session, [NOTE], MOMENT)
    with flown.reading() as session:
        last = list_history(session, airframe="C-01")[-1]
        assert (last.act, last.table, last.airframe) == ("added", "cruise_power", "C-01")
    with flown.writing() as session, pytest.raises(DataError, match="change 2 cannot be taken"):
        undo_change(session, 2)  # the flight, on whose point the power rests
    with flown.writing() as session:
        undo_change(session, None)
    with flown.reading() as session:
        assert select_cruise(session) == []


def test_a_power_is_forgotten_on_request(flown: Store) -> None:
    with flown.writing() as session:
        note_powers(session, [NOTE], MOMENT)
        forget_power(session, 2)
        assert select_cruise(session) == []
        with pytest.raises(UnknownNameError, match="no power is noted for point 2"):
            forget_power(session, 2)


@pytest.mark.parametrize(
    "wrong",
    [{"power_pct": 0.0}, {"power_pct": 131.0}, {"u_power_pct": 0.0}, {"basis": "guess"}],
)
def test_the_store_itself_refuses_what_cannot_be(flown: Store, wrong: dict[str, object]) -> None:
    with pytest.raises(DataError), flown.writing() as session:
        note_powers(session, [replace(NOTE, **wrong)], MOMENT)  # type: ignore[arg-type]
    with pytest.raises(UnknownNameError, match="no point 99"), flown.writing() as session:
        note_powers(session, [NOTE, replace(NOTE, point_id=99)], MOMENT)
    with flown.reading() as session:
        assert select_cruise(session) == []


def test_a_cruise_table_is_replaced_as_a_whole_and_saved_twice_changes_nothing(
    flown: Store,
) -> None:
    other = replace(CRUISE_TABLE, rows=CRUISE_TABLE.rows[:2])
    for table, outcome in (
        (CRUISE_TABLE, "added"),
        (CRUISE_TABLE, "unchanged"),
        (other, "changed"),
    ):
        with flown.writing() as session:
            counts = save_description(session, FleetDescription(cruise_tables=(table,)))
            assert getattr(counts, outcome) == 1
            assert load_cruise_tables(session) == (table,)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"engine": "nobody's"}, "no engine"),
        ({"rows": ()}, "has no line"),
        ({"rows": ((65.0, 4000.0, 101.0), (65.0, 4000.0, 102.0))}, "2 times"),
        ({"rows": ((65.0, 4000.0, -1.0),)}, "cruise table"),
    ],
)
def test_a_cruise_table_that_cannot_be_is_refused(
    flown: Store, wrong: dict[str, object], said: str
) -> None:
    table = replace(CRUISE_TABLE, **wrong)  # type: ignore[arg-type]
    with pytest.raises(DataError, match=said), flown.writing() as session:
        save_description(session, FleetDescription(cruise_tables=(table,)))
