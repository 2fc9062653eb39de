from __future__ import annotations

import math
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from fleetcal.errors import BusyStoreError, DataError, ReadOnlyStoreError
from fleetcal.records import Leg
from fleetcal.store import (
    NewSortie,
    Store,
    accept_points,
    add_sortie,
    add_source,
    open_store,
    save_description,
    select_points,
)
from tests.store.invented_rows import FLEET, MOMENT, POINT, fly, row_counts


class _PulledPlugError(Exception):
    """Stands for anything that goes wrong halfway."""


def _fly_half_way(session: Session) -> None:
    fly(session)
    raise _PulledPlugError


def test_an_error_halfway_undoes_the_whole_transaction(filled: Store) -> None:
    with filled.reading() as session:
        before = row_counts(session)
    with pytest.raises(_PulledPlugError), filled.writing() as session:
        _fly_half_way(session)
    with filled.reading() as session:
        assert row_counts(session) == before


def test_a_reading_session_cannot_write(filled: Store) -> None:
    with pytest.raises(ReadOnlyStoreError), filled.reading() as session:
        fly(session)


def test_a_reading_session_sees_one_state_while_another_writes(
    postgres_store_url: str,
) -> None:
    with open_store(postgres_store_url) as store, store.reading() as reader:
        before = row_counts(reader)
        with store.writing() as writer:
            save_description(writer, FLEET)
        assert row_counts(reader) == before


def test_a_second_writer_waits_and_then_says_who_is_in_the_way(place: str) -> None:
    with (
        open_store(place) as first,
        open_store(place, patience_s=0.2) as second,
        first.writing(),
        pytest.raises(BusyStoreError, match="written by another program"),
        second.writing(),
    ):
        pytest.fail("two writers at once")
    with open_store(place, patience_s=0.2) as again, again.writing() as session:
        save_description(session, FLEET)


@pytest.mark.long
@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"u_kappa": 0.0}, "u_kappa_positive"),
        ({"u_dvpc_kt": -1.0}, "u_dvpc_kt_positive"),
        ({"vic_kt": 0.0}, "vic_kt_positive"),
        ({"accepted": False}, "rejected_with_reason"),
        ({"accepted": False, "reason": "  "}, "rejected_with_reason"),
        ({"wind_from_deg": 361.0}, "wind_from_deg_range"),
        ({"oat_degc": -300.0}, "oat_degc_range"),
        ({"technique": " "}, "technique_filled"),
        ({"kappa": math.nan}, "kappa"),
        ({"terms": (replace(POINT.terms[0], kind="C"),)}, "kind_known"),
        ({"terms": (POINT.terms[0], POINT.terms[0])}, "name"),
    ],
)
def test_the_tables_refuse_a_point_that_cannot_be(
    filled: Store, change: dict[str, object], rule: str
) -> None:
    with filled.reading() as session:
        before = row_counts(session)
    with pytest.raises(DataError, match=rule) as caught, filled.writing() as session:
        fly(session, gave=[replace(POINT, **change)])  # type: ignore[arg-type]
    assert "sortie of C-01" in caught.value.message
    assert "\n" not in caught.value.message
    with filled.reading() as session:
        assert row_counts(session) == before


def test_an_infinite_value_is_refused(filled: Store) -> None:
    with pytest.raises(DataError, match="inf cannot be stored"), filled.writing() as session:
        fly(session, gave=[replace(POINT, degrees_of_freedom=math.inf)])


def test_a_time_without_zone_is_refused(filled: Store) -> None:
    with pytest.raises(DataError, match="has no time zone"), filled.writing() as session:
        accept_points(session, [1], datetime(2024, 1, 1))


def test_a_time_in_another_zone_comes_back_as_the_same_moment_in_utc(filled: Store) -> None:
    moment = datetime(2024, 1, 1, 1, 30, tzinfo=timezone(timedelta(hours=13)))
    with filled.writing() as session:
        accept_points(session, [1], moment)
    with filled.reading() as session:
        found = next(row for row in select_points(session) if row.point_id == 1)
    assert found.decided_at == moment
    assert found.decided_at.tzinfo is UTC
    assert found.decided_at.day == 31


def test_not_a_number_becomes_missing(filled: Store) -> None:
    with filled.writing() as session:
        sortie_id = fly(session, gave=[replace(POINT, oat_degc=math.nan)])
    with filled.reading() as session:
        (row,) = [row for row in select_points(session) if row.sortie_id == sortie_id]
    assert row.oat_degc is None


def test_numpy_scalars_are_stored_as_plain_numbers(filled: Store) -> None:
    point = replace(
        POINT,
        number=np.int64(7),  # type: ignore[arg-type]
        leg_count=np.int32(5),  # type: ignore[arg-type]
        vic_kt=np.float64(81.25),
        kappa=np.float32(0.5),  # type: ignore[arg-type]
        accepted=np.bool_(True),  # type: ignore[arg-type]
    )
    with filled.writing() as session:
        sortie_id = fly(session, gave=[point])
    with filled.reading() as session:
        (row,) = [row for row in select_points(session) if row.sortie_id == sortie_id]
    assert (row.number, row.leg_count, row.vic_kt, row.kappa) == (7, 5, 81.25, 0.5)
    assert row.accepted is True
    assert {type(row.number), type(row.leg_count), type(row.kappa)} == {int, float}


def test_numbers_lie_in_an_sqlite_file_as_numbers(store_file: Path) -> None:
    with open_store(store_file) as store, store.writing() as session:
        save_description(session, FLEET)
        source = add_source(session, "AB" * 32, "x.csv", "log", now=MOMENT)
        leg = Leg(
            run_number=np.int64(1),  # type: ignore[arg-type]
            leg_number=1,
            vic_kt=np.float64(80.0),
            pressure_altitude_ft=3000,
            samples=np.int64(60),  # type: ignore[arg-type]
        )
        add_sortie(
            session,
            source,
            NewSortie(airframe="C-01", flown_on=date(2018, 1, 1), weight_kg=590),
            [leg],
            [],
            now=MOMENT,
        )
    with closing(sqlite3.connect(store_file)) as connection:
        kinds = connection.execute(
            "SELECT typeof(vic_kt), typeof(pressure_altitude_ft), typeof(samples) FROM leg"
        ).fetchone()
    assert kinds == ("real", "real", "integer")


def test_no_row_can_go_while_another_refers_to_it(filled: Store) -> None:
    for table in ("aircraft_type", "engine", "airframe", "equipment_fit", "source_file", "sortie"):
        with pytest.raises(DataError), filled.writing() as session:
            session.execute(text(f"DELETE FROM {table}"))


def test_a_sortie_cannot_carry_another_airframes_fit(filled: Store) -> None:
    with pytest.raises(DataError), filled.writing() as session:
        session.execute(
            text(
                "UPDATE sortie SET equipment_fit_id = (SELECT id FROM equipment_fit WHERE"
                " airframe_id <> (SELECT min(airframe_id) FROM sortie) LIMIT 1)"
                " WHERE airframe_id = (SELECT min(airframe_id) FROM sortie)"
            )
        )
