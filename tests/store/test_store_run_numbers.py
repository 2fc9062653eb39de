"""Points of older stores get the number of their run; what cannot be told is named and stays."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date

import pytest
from sqlalchemy import text

from fleetcal.records import Leg, Point
from fleetcal.store import (
    NewSortie,
    PowerNote,
    add_sortie,
    add_source,
    note_powers,
    open_store,
    save_description,
    select_cruise,
    select_points,
)
from fleetcal.store.run_numbers import runs_of_points
from tests.older_store import all_values, as_then, engine_at, filling
from tests.store.invented_rows import FLEET, LEG, MOMENT, POINT

SPEEDS = {2: 120.0, 4: 75.0, 5: 95.0}


def legs(runs: dict[int, float]) -> list[Leg]:
    """Four legs a run, whose airspeeds lie around that of the run."""
    return [
        replace(LEG, run_number=run, leg_number=leg, vic_kt=speed + apart)
        for run, speed in runs.items()
        for leg, apart in enumerate((-1.0, 0.5, 0.75, -0.25), 1)
    ]


def points(runs: dict[int, float]) -> list[Point]:
    """A point a run, counted from 1."""
    return [replace(POINT, number=i, vic_kt=speed) for i, speed in enumerate(runs.values(), 1)]


def told(runs: dict[int, float], *changed: Point) -> list[int] | None:
    gave = [asdict(point) for point in changed or points(runs)]
    return runs_of_points(gave, [asdict(leg) for leg in legs(runs)])


def test_points_are_of_the_runs_whose_means_they_have() -> None:
    assert told(SPEEDS) == [2, 4, 5]
    first, second, third = points(SPEEDS)
    assert told(SPEEDS, third, first, second) == [5, 2, 4]
    assert told(SPEEDS, first, second) == [2, 4]  # a run without a point
    assert told({2: 90.0, 4: 90.0}) == [2, 4]  # alike: in their order


def test_legs_that_do_not_tell_the_run_give_no_number() -> None:
    first, second, third = points(SPEEDS)
    assert told(SPEEDS, first, second, replace(third, vic_kt=96.0)) is None
    assert told(SPEEDS, first, second, replace(third, leg_count=3)) is None
    assert told(SPEEDS, first, second, replace(third, pressure_altitude_ft=3001.0)) is None
    assert told({2: 90.0, 4: 90.0}, replace(first, vic_kt=90.0)) is None  # of which of the two
    assert told(SPEEDS, first, first, third) is None


def test_runs_at_one_airspeed_are_told_apart_by_their_ground_vectors() -> None:
    runs = {2: 90.0, 4: 90.0, 6: 90.0}
    tas = {2: 100.0, 4: 104.0, 6: 108.0}
    ways = {1: (0, 1), 2: (1, 0), 3: (0, -1), 4: (-1, 0)}
    found = []
    for leg in legs(runs):
        (east, north), speed = ways[leg.leg_number], tas[leg.run_number]
        found.append(
            asdict(replace(leg, ground_east_kt=10.0 + speed * east, ground_north_kt=speed * north))
        )
    blowing = replace(POINT, vic_kt=90.0, wind_speed_kt=10.0, wind_from_deg=270.0, residual_kt=0.0)
    gave = [asdict(replace(blowing, number=i, tas_kt=tas[run])) for i, run in ((1, 6), (2, 2))]
    assert runs_of_points(gave, found) == [6, 2]


def test_points_without_legs_and_of_other_techniques_keep_their_numbers() -> None:
    gave = [asdict(point) for point in points(SPEEDS)]
    assert runs_of_points(gave, []) == [1, 2, 3]
    turned = [{**point, "technique": "gps manoeuvre"} for point in gave]
    assert runs_of_points(turned, [asdict(leg) for leg in legs(SPEEDS)]) == [1, 2, 3]


@pytest.mark.long
def test_an_upgrade_mends_numbers_marks_powers_and_names_what_it_cannot_tell(place: str) -> None:
    with filling(place, "0010") as session:
        save_description(session, FLEET)
        for day, runs in enumerate((SPEEDS, SPEEDS, {1: 80.0, 2: 90.0}), 1):
            source = add_source(session, f"{day:064x}", f"{day}.csv", "log", now=MOMENT)
            flown = points(runs)
            if day == 2:
                flown[0] = replace(flown[0], vic_kt=121.0)
            sortie = NewSortie(
                airframe="C-01",
                flown_on=date(2018, 1, day),
                weight_kg=590.0,
                track_reference="true",
            )
            add_sortie(session, source, sortie, legs(runs), flown, now=MOMENT)
        noted = [
            PowerNote(point_id=p, power_pct=60.0 + p, u_power_pct=3.0, origin="log")
            for p in (2, 5, 8)
        ]
        note_powers(
            session, [*noted, PowerNote(point_id=3, power_pct=70.0, u_power_pct=3.0)], MOMENT
        )
    before = all_values(place)
    with open_store(place, create=False) as store, store.reading() as session:
        assert [p.number for p in select_points(session)] == [2, 4, 5, 1, 2, 3, 1, 2]
        doubts = {run.point.point_id: run.power.doubt for run in select_cruise(session)}
        mended, *named, ownerless = store.upgrade_notes
    assert doubts == {
        2: "it was read from the log over run 2, and the point is of run 4",
        3: "",
        5: "it was read from the log, and the legs do not show which run the point is",
        8: "",
    }
    assert mended.startswith("3 points of 1 sortie ")
    assert ownerless.startswith("nobody owns the airframes")
    assert [note.split(":")[0] for note in named] == [
        "the power of point 2 (sortie 1 of C-01 on 2018-01-01) is left out of cruise",
        "sortie 2 of C-01 on 2018-01-02",
        "the power of point 5 (sortie 2 of C-01 on 2018-01-02) is left out of cruise",
    ]
    with open_store(place, create=False) as store:
        assert store.upgrade_notes == ()
    after = as_then(all_values(place), before)
    changed = {name for name, rows in before.items() if after[name] != rows}
    assert changed == {"calibration_point"}


@pytest.mark.long
def test_numbers_may_change_places_though_they_differ_at_every_moment(place: str) -> None:
    with filling(place, "0010") as session:
        save_description(session, FLEET)
        source = add_source(session, "c" * 64, "flight.csv", "log", now=MOMENT)
        first, second, third = points(SPEEDS)
        swapped = [replace(third, number=2), replace(first, number=4), replace(second, number=5)]
        sortie = NewSortie(
            airframe="C-01", flown_on=date(2018, 1, 1), weight_kg=590.0, track_reference="true"
        )
        add_sortie(session, source, sortie, legs(SPEEDS), swapped, now=MOMENT)
    open_store(place, create=False).close()
    with engine_at(place) as engine, engine.connect() as connection:
        query = text("SELECT vic_kt, number FROM calibration_point")
        rows = dict(tuple(row) for row in connection.execute(query))
    assert rows == {speed: run for run, speed in SPEEDS.items()}
