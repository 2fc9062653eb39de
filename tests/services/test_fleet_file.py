"""A fleet description as values and as the content of a fleet file."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcal.errors import DataError, MalformedFileError
from fleetcal.services.fleet.describe_fleet import fleet_toml, load_fleet, show_fleet
from fleetcal.services.fleet.fleet_file import fleet_document, parse_fleet, read_fleet_file
from fleetcal.store import (
    PITCHES,
    AirframeDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    PropellerDescription,
    StaticSourceDescription,
    Store,
    TypeDescription,
    open_store,
)
from tests.services.invented_group import FLEET

pytestmark = pytest.mark.any_store("takes a file and a server by itself")

NAMES = st.text(
    st.characters(exclude_categories=("C", "Z"), include_characters=" "), min_size=1, max_size=12
).filter(str.strip)
NOTES = st.text(st.characters(exclude_categories=("C", "Z"), include_characters=" "), max_size=20)
SIZES = st.floats(0.5, 5000.0, allow_nan=False)
SPEEDS = st.none() | SIZES
DAYS = st.dates(date(1950, 1, 1), date(2100, 1, 1))

FITS = st.builds(
    FitDescription,
    from_date=DAYS,
    static_source=NAMES,
    engine=NAMES,
    propeller=NAMES,
    pitot=NOTES,
    note=NOTES,
)
DESCRIPTIONS = st.builds(
    FleetDescription,
    types=st.lists(
        st.builds(
            TypeDescription,
            name=NAMES,
            reference_weight_kg=SIZES,
            scaling_speed_kt=SIZES,
            wing_area_m2=SPEEDS,
            stall_speed_clean_kt=SPEEDS,
            stall_speed_landing_kt=SPEEDS,
            flap_limit_kt=SPEEDS,
            manoeuvring_speed_kt=SPEEDS,
            never_exceed_kt=SPEEDS,
            note=NOTES,
            static_sources=st.lists(
                st.builds(StaticSourceDescription, NAMES, NOTES), max_size=3
            ).map(tuple),
            speeds_are=st.sampled_from(("", "CAS", "IAS on wing boom")),
        ),
        max_size=2,
    ).map(tuple),
    engines=st.lists(NAMES, max_size=3).map(tuple),
    propellers=st.lists(
        st.builds(PropellerDescription, NAMES, st.sampled_from(PITCHES)), max_size=3
    ).map(tuple),
    airframes=st.lists(
        st.builds(
            AirframeDescription,
            tag=NAMES,
            type=NAMES,
            registration=st.none() | NAMES,
            note=NOTES,
            temperature_shows=st.sampled_from([None, "ambient", "probe"]),
            fits=st.lists(FITS, max_size=3).map(tuple),
        ),
        max_size=3,
    ).map(tuple),
    handbooks=st.lists(
        st.builds(
            HandbookDescription,
            type=NAMES,
            static_source=NAMES,
            flap_setting=NAMES,
            name=NAMES,
            weight_kg=SIZES,
            rows=st.lists(st.tuples(SIZES, SIZES), max_size=4).map(tuple),
        ),
        max_size=2,
    ).map(tuple),
)


@pytest.mark.long
@settings(max_examples=60)
@given(DESCRIPTIONS)
def test_any_description_survives_being_written_and_read(description: FleetDescription) -> None:
    text = tomli_w.dumps(fleet_document(description))
    assert parse_fleet(tomllib.loads(text), "fleet.toml") == description


def test_what_is_stored_is_what_is_written(described: Store, tmp_path: Path) -> None:
    path = tmp_path / "fleet.toml"
    path.write_text(fleet_toml(described), encoding="utf-8")
    found = read_fleet_file(path)
    assert found.types == FLEET.types
    assert set(found.engines) == set(FLEET.engines)
    assert found.airframes == FLEET.airframes
    assert found.handbooks == FLEET.handbooks


@pytest.mark.long
def test_loading_what_was_written_changes_nothing(described_place: str, tmp_path: Path) -> None:
    path = tmp_path / "fleet.toml"
    with open_store(described_place, create=False) as store:
        path.write_text(fleet_toml(store), encoding="utf-8")
    done = load_fleet(described_place, path)
    assert (done.added, done.changed, done.unchanged) == (0, 0, 22)
    with open_store(described_place, create=False) as store:
        assert fleet_toml(store) == path.read_text(encoding="utf-8")
        assert [line.airframe for line in show_fleet(store).fits].count("C-01") == 2


def test_a_description_that_contradicts_itself_begins_no_store(tmp_path: Path) -> None:
    broken = replace(FLEET, engines=("another engine",))
    path = tmp_path / "fleet.toml"
    path.write_text(tomli_w.dumps(fleet_document(broken)), encoding="utf-8")
    with pytest.raises(DataError, match=r"^fleet\.toml: ") as refusal:
        load_fleet(tmp_path / "store.sqlite3", path)
    assert "75 kW four" in refusal.value.message
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.long
def test_a_description_that_contradicts_itself_makes_no_tables_on_a_server(
    postgres_store_url: str, tmp_path: Path
) -> None:
    from fleetcal.errors import StoreError

    broken = replace(FLEET, engines=("another engine",))
    path = tmp_path / "fleet.toml"
    path.write_text(tomli_w.dumps(fleet_document(broken)), encoding="utf-8")
    with pytest.raises(DataError, match="75 kW four"):
        load_fleet(postgres_store_url, path)
    with pytest.raises(StoreError, match="there is no store"):
        open_store(postgres_store_url, create=False)


@pytest.mark.parametrize("table", ["type", "engine", "propeller", "airframe", "handbook"])
def test_a_table_of_the_wrong_kind_is_named(table: str) -> None:
    for content in ({table: 3}, {table: {"name": "x"}}, {table: [3]}):
        with pytest.raises(MalformedFileError, match=f"^f: '{table}' is not a list of tables"):
            parse_fleet(content, "f")
