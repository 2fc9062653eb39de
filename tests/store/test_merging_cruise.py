"""Powers of runs and cruise tables of handbooks travel with what they belong to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import permutations
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from fleetcal.services.keeping.check_store import check_store
from fleetcal.services.sharing.merge_share import Choices
from fleetcal.services.sharing.share_store import ShareChoice
from fleetcal.store import (
    CruiseTableDescription,
    FleetDescription,
    PowerNote,
    Store,
    forget_power,
    load_cruise_tables,
    note_powers,
    open_store,
    revise_description,
    save_description,
    select_cruise,
)
from fleetcal.store.history_rows import list_history
from tests.store.invented_rows import CRUISE_TABLE, FLEET, MOMENT
from tests.store.invented_shares import (
    LATER,
    fly_file,
    merge_into,
    shared_text,
    write_share,
)
from tests.store.test_merging_climbs import place_of
from tests.store.test_store_history import rows, undo
from tests.store_places import begun_at

Act = Callable[[Session], object]


def noted(
    *powers: tuple[int, float], now: datetime = MOMENT, weight_kg: float = 590.0, shift: float = 0.0
) -> Act:
    """A flight, and powers of some of its three points."""

    def act(session: Session) -> None:
        fly_file(session, "log", weight_kg=weight_kg, shift=shift)
        notes = [
            PowerNote(point_id=point, power_pct=percent, u_power_pct=3.0)
            for point, percent in powers
        ]
        note_powers(session, notes, now)

    return act


def shared(folder: Path, *acts: Act) -> list[Path]:
    paths = []
    for i, act in enumerate(acts):
        with open_store(begun_at(folder / f"{i}.sqlite3")) as store:
            with store.writing() as session:
                save_description(session, FLEET)
                act(session)
            paths.append(write_share(store, folder / f"{i}.json"))
    return paths


def powers_of(store: Store) -> list[tuple[int, float]]:
    with store.reading() as session:
        return [(row.point.number, row.power.power_pct) for row in select_cruise(session)]


@pytest.mark.long
def test_the_power_noted_last_wins_and_none_is_lost_in_any_order(tmp_path: Path) -> None:
    paths = shared(
        tmp_path,
        noted((1, 55.0), (2, 65.0)),
        noted((2, 70.0), now=LATER),
        noted((1, 60.0), (3, 75.0)),
    )
    told = set()
    for i, order in enumerate(permutations(paths)):
        target = tmp_path / f"target {i}.sqlite3"
        for path in order:
            assert merge_into(target, path).conflicts == ()
        assert merge_into(target, order[0]).brought_up_to_date == 0
        with open_store(target) as store:
            assert powers_of(store) == [(1, 60.0), (2, 70.0), (3, 75.0)]
            told.add(shared_text(store))
            assert not [f for f in check_store(store).faults if "power" in f.what]
    assert len(told) == 1


@pytest.mark.long
def test_a_merge_that_brings_powers_and_tables_is_taken_back_whole(
    store: Store, tmp_path: Path
) -> None:
    def theirs(session: Session) -> None:
        noted((1, 60.0), (2, 70.0), now=LATER)(session)
        fly_file(session, "second", day=date(2018, 2, 1))
        note_powers(session, [PowerNote(point_id=5, power_pct=50.0, u_power_pct=3.0)], MOMENT)
        save_description(session, FleetDescription(cruise_tables=(CRUISE_TABLE,)))

    (path,) = shared(tmp_path, theirs)
    with store.writing() as session:
        save_description(session, FLEET)
        noted((1, 55.0), (3, 75.0))(session)
    before, told = rows(store), shared_text(store)
    assert merge_into(place_of(store), path).stored
    assert sorted(powers_of(store)) == [(1, 60.0), (2, 50.0), (2, 70.0), (3, 75.0)]
    with store.reading() as session:
        assert load_cruise_tables(session) == (CRUISE_TABLE,)
    undo(store)
    assert rows(store) == before
    assert shared_text(store) == told


@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_powers_go_over_to_the_reduction_that_is_chosen(
    store: Store, tmp_path: Path, side: str
) -> None:
    (path,) = shared(tmp_path, noted((1, 60.0), now=LATER, weight_kg=570.0, shift=0.001))
    with store.writing() as session:
        save_description(session, FLEET)
        noted((1, 55.0), (2, 65.0))(session)
    before = rows(store)
    done = merge_into(place_of(store), path, Choices(side, {}))  # type: ignore[arg-type]
    assert (done.stored, len(done.conflicts)) == (True, 1)
    with store.reading() as session:
        found = [(r.point.number, r.point.weight_kg, r.power) for r in select_cruise(session)]
    weight_kg = 590.0 if side == "mine" else 570.0
    assert [(i, kg, power.power_pct) for i, kg, power in found] == [
        (1, weight_kg, 60.0),  # noted later
        (2, weight_kg, 65.0),
    ]
    undo(store)
    assert rows(store) == before


@pytest.mark.long
def test_a_corrected_cruise_table_wins_and_a_contradiction_is_a_conflict(tmp_path: Path) -> None:
    corrected = replace(CRUISE_TABLE, rows=CRUISE_TABLE.rows[:2])
    strange = replace(CRUISE_TABLE, weight_kg=580.0)

    def book(*tables: CruiseTableDescription) -> Act:
        def act(session: Session) -> None:
            for table in tables:
                revise_description(session, FleetDescription(cruise_tables=(table,)))

        return act

    old, new, other = shared(
        tmp_path, book(CRUISE_TABLE), book(CRUISE_TABLE, corrected), book(strange)
    )
    for order in ((old, new), (new, old)):
        target = tmp_path / f"{order[0].stem}.target"
        for path in order:
            assert merge_into(target, path).conflicts == ()
        with open_store(target) as store, store.reading() as session:
            assert load_cruise_tables(session) == (corrected,)
    listed = merge_into(target, other)
    (conflict,) = listed.conflicts
    assert not listed.stored
    assert conflict.what == "cruise table Corrie 2 / 75 kW four / two-blade fixed / first edition"
    assert "weight_kg 580.0" in conflict.theirs
    assert merge_into(target, other, Choices("theirs", {})).stored
    assert merge_into(target, new).conflicts == ()
    with open_store(target) as store, store.reading() as session:
        assert load_cruise_tables(session) == (strange,)


@pytest.mark.parametrize(
    ("choice", "engines"),
    [
        (ShareChoice(types=["Corrie 2"]), {"75 kW four", "100 kW turbo four", "diesel"}),
        (ShareChoice(airframes=["C-01"]), {"75 kW four", "100 kW turbo four"}),
        (ShareChoice(airframes=["C-02"]), set()),
    ],
)
def test_a_type_goes_with_all_its_tables_and_an_airframe_with_those_of_its_pairings(
    tmp_path: Path, choice: ShareChoice, engines: set[str]
) -> None:
    tables = tuple(replace(CRUISE_TABLE, engine=e) for e in ("diesel", *FLEET.engines))
    with open_store(begun_at(tmp_path / "one.sqlite3")) as store:
        with store.writing() as session:
            fleet = replace(FLEET, engines=(*FLEET.engines, "diesel"), cruise_tables=tables)
            save_description(session, fleet)
        path = write_share(store, tmp_path / "part.json", choice)
    merge_into(tmp_path / "other.sqlite3", path)
    with open_store(tmp_path / "other.sqlite3") as other, other.reading() as session:
        assert {table.engine for table in load_cruise_tables(session)} == engines


def test_the_history_of_a_point_has_every_change_of_its_power_and_no_other(store: Store) -> None:
    def told(point: int) -> list[tuple[int, str, str]]:
        with store.reading() as session:
            lines = list_history(session, point_id=point)
        return [(line.change, line.act, line.undone[:2]) for line in lines[1:]]

    acts: tuple[Act, ...] = (
        lambda s: save_description(s, FLEET),
        lambda s: fly_file(s, "one"),
        lambda s: note_powers(s, [PowerNote(point_id=2, power_pct=65.0, u_power_pct=3.0)], MOMENT),
        lambda s: note_powers(
            s, [PowerNote(point_id=2, power_pct=70.0, u_power_pct=3.0)], MOMENT + timedelta(hours=1)
        ),
        lambda s: forget_power(s, 2),
        lambda s: note_powers(s, [PowerNote(point_id=3, power_pct=75.0, u_power_pct=3.0)], MOMENT),
    )
    for act in acts:
        with store.writing() as session:
            act(session)
    assert told(2) == [(3, "added", ""), (4, "changed", ""), (5, "removed", "")]
    assert told(3) == [(6, "added", "")]  # SQLite gives it the number that is free again
    for _ in range(2):
        undo(store)
    with store.writing() as session:
        note_powers(session, [PowerNote(point_id=2, power_pct=71.0, u_power_pct=3.0)], LATER)
    assert [(change, act) for change, act, _ in told(2)] == [
        *((3, "added"), (4, "changed"), (5, "removed"), (9, "changed"))
    ]
    assert told(3) == [(6, "added", "20")]
