from __future__ import annotations

import math
from dataclasses import asdict, fields, replace
from datetime import UTC, date, datetime
from itertools import product

import pytest
from sqlalchemy import event, text

from fleetcal import __version__
from fleetcal.errors import DataError, UnknownNameError
from fleetcal.records import GPS_LEGS, Point
from fleetcal.store import (
    NewSortie,
    PointFilter,
    Store,
    StoredPoint,
    accept_points,
    add_sortie,
    add_source,
    find_source,
    pooled_leg_scatter,
    reject_points,
    save_description,
    select_points,
    sorties_of_source,
)
from tests.store.invented_rows import (
    CONSTANT,
    FIXED,
    FLEET,
    FOUR,
    MOMENT,
    POINT,
    TAIL,
    TURBO,
    WING,
    fly,
    points,
    row_counts,
)

LATER = datetime(2025, 1, 2, 3, 4, 5, tzinfo=UTC)


def rows(store: Store, **wanted: object) -> list[StoredPoint]:
    with store.reading() as session:
        return select_points(session, PointFilter(**wanted))  # type: ignore[arg-type]


@pytest.fixture
def fleet_store(store: Store) -> Store:
    """Three flights: before and after a change of the first airframe, and one of the second."""
    with store.writing() as session:
        save_description(session, FLEET)
        fly(session, "C-01", date(2020, 1, 1), points(2, flap_setting="15 deg"))
        fly(session, "C-01", date(2018, 1, 1), points(3))
        fly(session, "C-02", date(2019, 1, 1), points(1, technique="speed course"))
    return store


def test_a_point_comes_back_with_every_value_it_went_in_with(filled: Store) -> None:
    full = Point(
        number=9,
        technique="pace aircraft",
        weight_kg=601.25,
        vic_kt=91.5,
        pressure_altitude_ft=-250.5,
        kappa=math.pi / 1e3,
        u_kappa=1e-17,
        dvpc_kt=-1 / 3,
        u_dvpc_kt=0.1 + 0.2,
        dhpc_ft=7.25,
        u_dhpc_ft=1e300,
        flap_setting="15 deg",
        oat_degc=-40.0,
        tas_kt=92.0,
        wind_speed_kt=0.0,
        wind_from_deg=360.0,
        leg_count=5,
        largest_gap_deg=91.5,
        residual_kt=0.0,
        duration_s=480.5,
        degrees_of_freedom=3.7,
        accepted=False,
        reason="Böen, 15 °C; 'quoted'",
        terms=POINT.terms,
    )
    with filled.writing() as session:
        sortie_id = fly(session, gave=[full])
    (row,) = [row for row in rows(filled) if row.sortie_id == sortie_id]
    for field in fields(Point):
        if field.name != "terms":
            assert getattr(row, field.name) == getattr(full, field.name), field.name
    assert [asdict(term) for term in row.terms] == [asdict(term) for term in full.terms]
    assert (row.airframe, row.type, row.static_source) == ("C-01", "Corrie 2", TAIL)
    assert (row.engine, row.propeller, row.pitot) == (FOUR, FIXED, "nose")
    assert (row.flown_on, row.source_name) == (date(2018, 1, 1), "C-01 2018-01-01.csv")
    assert (row.track_reference, row.decided_at) == ("true", MOMENT)


def test_points_are_ordered_by_day_flight_and_number(fleet_store: Store) -> None:
    found = [(row.flown_on.year, row.airframe, row.number) for row in rows(fleet_store)]
    assert found == [
        (2018, "C-01", 1),
        (2018, "C-01", 2),
        (2018, "C-01", 3),
        (2019, "C-02", 1),
        (2020, "C-01", 1),
        (2020, "C-01", 2),
    ]


def test_a_sortie_carries_the_equipment_of_its_day(fleet_store: Store) -> None:
    found = {(row.flown_on.year, row.engine, row.propeller) for row in rows(fleet_store)}
    assert found == {(2018, FOUR, FIXED), (2019, TURBO, CONSTANT), (2020, TURBO, CONSTANT)}


@pytest.mark.long
def test_every_filter_keeps_exactly_the_points_that_meet_it(fleet_store: Store) -> None:
    with fleet_store.writing() as session:
        reject_points(session, [1], "gusty", LATER)
    everything = rows(fleet_store)
    choices: dict[str, list[object]] = {
        "airframe": ["C-01", "C-02", "C-99"],
        "type": ["Corrie 2", "Corrie 3"],
        "static_source": [TAIL, WING],
        "engine": [FOUR, TURBO],
        "propeller": [FIXED, CONSTANT],
        "flap_setting": ["up", "15 deg"],
        "technique": [GPS_LEGS, "speed course"],
        "accepted": [True, False],
    }
    pairs = [(name, value) for name, values in choices.items() for value in values]
    for (name, value), (other, second) in product(pairs, pairs):
        expected = [
            row
            for row in everything
            if getattr(row, name) == value and getattr(row, other) == second
        ]
        if name != other:
            assert rows(fleet_store, **{name: value, other: second}) == expected


def test_the_days_of_a_filter_are_both_included(fleet_store: Store) -> None:
    found = rows(fleet_store, flown_from=date(2018, 1, 1), flown_to=date(2019, 1, 1))
    assert {row.flown_on.year for row in found} == {2018, 2019}
    found = rows(fleet_store, flown_from=date(2018, 1, 2), flown_to=date(2019, 12, 31))
    assert {row.flown_on.year for row in found} == {2019}


def test_all_points_take_three_queries_however_many_there_are(fleet_store: Store) -> None:
    with fleet_store.reading() as session:
        asked: list[str] = []

        def note(*arguments: object) -> None:
            asked.append(str(arguments[2]))

        event.listen(session.connection(), "before_cursor_execute", note)
        assert len(select_points(session)) == 6
    assert len(asked) == 3, asked


def test_a_rejected_point_keeps_its_reason_until_it_is_accepted_again(filled: Store) -> None:
    with filled.writing() as session:
        assert reject_points(session, [2, 1, 2], " leak found on the bench ", LATER) == 2
    found = {row.point_id: (row.accepted, row.reason, row.decided_at) for row in rows(filled)}
    assert found[1] == found[2] == (False, "leak found on the bench", LATER)
    assert found[3] == (True, "", MOMENT)
    with filled.writing() as session:
        assert accept_points(session, [1], LATER) == 1
    assert [row.point_id for row in rows(filled, accepted=False)] == [2]
    assert next(row for row in rows(filled) if row.point_id == 1).reason == ""


def test_a_point_is_not_rejected_without_a_reason(filled: Store) -> None:
    with pytest.raises(DataError, match="no reason was given"), filled.writing() as session:
        reject_points(session, [1], " \t\n", LATER)
    assert rows(filled, accepted=False) == []


def test_one_unknown_point_leaves_all_as_they_were(filled: Store) -> None:
    with pytest.raises(UnknownNameError, match="no point 98, 99"), filled.writing() as session:
        reject_points(session, [1, 99, 98], "leak", LATER)
    assert rows(filled, accepted=False) == []


@pytest.mark.long
def test_more_points_than_a_query_may_list_are_decided_at_once(filled: Store) -> None:
    with filled.writing() as session:
        fly(session, gave=points(1300, terms=()))
    every = [row.point_id for row in rows(filled)]
    with filled.writing() as session:
        assert reject_points(session, every, "bar shifted", LATER) == len(every) > 1300


def test_spare_legs_are_pooled_over_accepted_points_with_four_legs_or_more(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
        assert pooled_leg_scatter(session) == (0.0, 0)
        gave = [
            replace(POINT, number=1, leg_count=4, residual_kt=0.5),
            replace(POINT, number=2, leg_count=6, residual_kt=0.25),
            replace(POINT, number=3, leg_count=3, residual_kt=9.0),
            replace(POINT, number=4, leg_count=5, residual_kt=None),
            replace(POINT, number=5, leg_count=5, residual_kt=9.0, accepted=False, reason="x"),
            replace(POINT, number=6, leg_count=5, residual_kt=9.0, technique="speed course"),
            replace(POINT, number=7, leg_count=4, residual_kt=2.5),  # in a wind that changed
        ]
        fly(session, gave=gave)
    with store.reading() as session:
        squares, freedom = pooled_leg_scatter(session)
    # by hand: 1 x 0.5^2 + 3 x 0.25^2, exact in binary
    assert (squares, freedom) == (0.4375, 4)
    assert type(freedom) is int


def test_the_same_bytes_are_not_added_twice(filled: Store) -> None:
    with filled.writing() as session:
        added = add_source(session, "AB" * 32, "first.csv", "log", now=MOMENT)
        found = find_source(session, "ab" * 32)
        assert found is added
        with pytest.raises(DataError, match=r"in the store already, as first\.csv"):
            add_source(session, "ab" * 32, "second.csv", "log")


@pytest.mark.parametrize(("sha256", "kind"), [("ab", "log"), ("ab" * 32, "picture")])
def test_a_file_without_a_proper_sum_or_kind_is_refused(
    filled: Store, sha256: str, kind: str
) -> None:
    with pytest.raises(DataError, match=r"file x\.csv"), filled.writing() as session:
        add_source(session, sha256, "x.csv", kind)


def test_a_sortie_of_an_unknown_airframe_or_before_its_time_is_refused(filled: Store) -> None:
    with filled.reading() as session:
        before = row_counts(session)
    with pytest.raises(UnknownNameError, match="C-99"), filled.writing() as session:
        fly(session, "C-99")
    with pytest.raises(DataError, match="first fit is from"), filled.writing() as session:
        fly(session, day=date(1999, 1, 1))
    with filled.reading() as session:
        assert row_counts(session) == before


def test_a_file_tells_which_sorties_came_from_it(fleet_store: Store) -> None:
    with fleet_store.writing() as session:
        source = add_source(session, "ef" * 32, "x.csv", "points")
        assert sorties_of_source(session, source) == []
        made = [
            add_sortie(
                session,
                source,
                NewSortie(airframe=tag, flown_on=date(2021, 1, 1), weight_kg=580.0),
                [],
                points(1),
            ).id
            for tag in ("C-02", "C-01")
        ]
        found = sorties_of_source(session, source)
    assert [(line.sortie_id, line.airframe) for line in found] == [
        (made[0], "C-02"),
        (made[1], "C-01"),
    ]
    assert (found[0].flown_on, found[0].weight_kg) == (date(2021, 1, 1), 580.0)


def test_a_sortie_keeps_the_settings_and_the_program_it_was_made_with(filled: Store) -> None:
    with filled.writing() as session:
        source = add_source(session, "cd" * 32, "x.csv", "points")
        sortie = NewSortie(
            airframe="C-02",
            flown_on=date(2021, 1, 1),
            weight_kg=580.0,
            track_reference="magnetic",
            settings_json='{"a": 1}',
            note="calm",
        )
        made = add_sortie(session, source, sortie, [], points(1))
    with filled.reading() as session:
        kept = session.execute(
            text("SELECT settings_json, program_version, note FROM sortie WHERE id = :id"),
            {"id": made.id},
        ).one()
    assert tuple(kept) == ('{"a": 1}', __version__, "calm")
    assert made.added_at.tzinfo is UTC
