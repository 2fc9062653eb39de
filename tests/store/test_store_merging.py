"""Two stores become one: all of a share or what was chosen of it, or nothing if it is refused."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from fleetcal.errors import DataError, FleetcalError
from fleetcal.services.sharing.merge_share import Choices, merge
from fleetcal.services.sharing.share_store import ShareChoice
from fleetcal.store import (
    Store,
    load_description,
    open_store,
    select_points,
)
from fleetcal.store.history_guard import KEPT
from tests.store.invented_shares import (
    REGISTRATION,
    Make,
    file_of,
    fill,
    fly_file,
    merge_into,
    rows_without_numbers,
    shared_text,
    with_contents,
    write_share,
)


@pytest.mark.long
def test_sharing_and_merging_into_an_empty_store_gives_an_equal_store(
    store: Store, tmp_path: Path, begun_file: Path
) -> None:
    fill(store)
    path = write_share(store, tmp_path / "all.json")
    other_file = tmp_path / "other.sqlite3"
    done = merge_into(other_file, path)
    assert done.stored
    assert (done.corrected, done.brought_up_to_date, done.unchanged) == (0, 0, 0)
    with open_store(other_file) as other:
        assert shared_text(other) == shared_text(store)
        theirs, mine = rows_without_numbers(other), rows_without_numbers(store)
        assert set(mine) == set(theirs)
        for table in mine:
            if store.label.endswith("sqlite3") and table not in KEPT:
                assert theirs[table] == mine[table], table
        with store.reading() as one, other.reading() as two:
            assert load_description(one) == load_description(two)
            assert [replace(p, point_id=0, sortie_id=0) for p in select_points(one)] == [
                replace(p, point_id=0, sortie_id=0) for p in select_points(two)
            ]


def test_a_server_takes_a_share_file_like_a_file_does(
    store: Store, tmp_path: Path, make: Make
) -> None:
    source = make("source")
    with source.writing() as session:
        fly_file(session, "one")
    path = write_share(source, tmp_path / "one.json")
    where = store._engine.url if store._engine.dialect.name != "sqlite" else None
    place = where.render_as_string(hide_password=False) if where is not None else store.label
    assert merge_into(place, path).stored
    assert merge_into(place, path).added == 0
    assert shared_text(store) == shared_text(source)


def test_the_same_file_twice_adds_nothing(make: Make, tmp_path: Path) -> None:
    source = make("source")
    fill(source)
    path = write_share(source, tmp_path / "all.json")
    merge_into(tmp_path / "other.sqlite3", path)
    before = (tmp_path / "other.sqlite3").read_bytes()
    done = merge_into(tmp_path / "other.sqlite3", path)
    assert (done.added, done.corrected, done.brought_up_to_date) == (0, 0, 0)
    assert done.unchanged > 10
    assert (tmp_path / "other.sqlite3").read_bytes() == before


def test_the_same_store_shares_the_same_bytes(make: Make, tmp_path: Path) -> None:
    source = make("source")
    fill(source)
    one, two = write_share(source, tmp_path / "1.json"), write_share(source, tmp_path / "2.json")
    assert one.read_bytes() == two.read_bytes()


@pytest.mark.long
def test_registrations_are_left_out_wherever_they_stand(make: Make, tmp_path: Path) -> None:
    source = make("source")
    fill(source)
    quiet = write_share(source, tmp_path / "quiet.json", ShareChoice()).read_text()
    assert REGISTRATION not in quiet
    assert REGISTRATION.replace("-", "") not in quiet
    assert "C-01 flight.csv" in quiet
    assert REGISTRATION in write_share(source, tmp_path / "told.json").read_text()
    merge_into(tmp_path / "other.sqlite3", tmp_path / "quiet.json")
    done = merge_into(tmp_path / "other.sqlite3", tmp_path / "told.json")
    assert (done.added, done.conflicts) == (1, ())
    with open_store(tmp_path / "other.sqlite3") as other, other.reading() as session:
        assert load_description(session).airframes[0].registration == REGISTRATION


@pytest.mark.long
def test_a_choice_of_airframes_takes_along_what_it_needs_and_no_more(
    make: Make, tmp_path: Path
) -> None:
    source = make("source")
    fill(source)
    path = write_share(
        source, tmp_path / "part.json", ShareChoice(airframes=["C-02"], registrations=True)
    )
    merge_into(tmp_path / "other.sqlite3", path)
    with open_store(tmp_path / "other.sqlite3") as other, other.reading() as session:
        fleet = load_description(session)
        assert [one.tag for one in fleet.airframes] == ["C-02"]
        assert fleet.engines == ("100 kW turbo four",)
        assert {p.airframe for p in select_points(session)} == {"C-02"}
    whole = write_share(source, tmp_path / "all.json")
    assert merge_into(tmp_path / "other.sqlite3", whole).conflicts == ()
    with open_store(tmp_path / "other.sqlite3") as other:
        merge_into(tmp_path / "fresh.sqlite3", whole)
        with open_store(tmp_path / "fresh.sqlite3") as fresh:
            assert shared_text(other) == shared_text(fresh)


def test_a_file_that_breaks_a_rule_of_the_tables_late_leaves_nothing_behind(
    make: Make, tmp_path: Path
) -> None:
    source, target = make("source"), make("target")
    fill(source)
    document = json.loads(write_share(source, tmp_path / "s.json").read_text())
    leg = document["contents"]["things"]["flights"][-1]["content"]["sorties"][0]["legs"][0]
    leg["stop_s"] = leg["start_s"] - 1.0
    bad = tmp_path / "bad.json"
    bad.write_bytes(with_contents(document, document["contents"]))
    before = file_of(target).read_bytes()
    with pytest.raises(FleetcalError, match="stop_after_start"):
        merge_into(file_of(target), bad, Choices("theirs", {}))
    assert file_of(target).read_bytes() == before


def test_a_value_that_its_column_cannot_have_is_refused_with_its_place(
    make: Make, tmp_path: Path
) -> None:
    source, target = make("source"), make("target")
    fill(source)
    document = json.loads(write_share(source, tmp_path / "s.json").read_text())
    point = document["contents"]["things"]["flights"][-1]["content"]["sorties"][0]["points"][0]
    point["u_kappa"] = -1.0
    bad = tmp_path / "bad.json"
    bad.write_bytes(with_contents(document, document["contents"]))
    before = file_of(target).read_bytes()
    with pytest.raises(FleetcalError, match="points 1, u_kappa: is not above zero"):
        merge_into(file_of(target), bad)
    assert file_of(target).read_bytes() == before


def test_a_refused_file_does_not_even_begin_a_store(make: Make, tmp_path: Path) -> None:
    path = write_share(make("source"), tmp_path / "s.json")
    path.write_bytes(path.read_bytes().replace(b"600.0", b"601.0"))
    with pytest.raises(DataError, match="checksum"):
        merge(lambda: open_store(tmp_path / "none.sqlite3"), path, Choices(None, {}))
    assert not (tmp_path / "none.sqlite3").exists()
