"""What is said of a column in the records holds wherever the column goes."""

from __future__ import annotations

import json
import math
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Boolean, inspect

from fleetcal.cli.store_views import POINTS
from fleetcal.errors import FleetcalError, MalformedFileError
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_row import ReadingRow, TableRow
from fleetcal.records import (
    BudgetTerm,
    Climb,
    Leg,
    Point,
    Power,
    RecordColumn,
    columns_of,
    names_of,
)
from fleetcal.records.column import column
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES
from fleetcal.services.points.decide_points import list_points
from fleetcal.services.points.exchange_points import COLUMNS, import_points, points_csv
from fleetcal.services.sharing import shape
from fleetcal.services.sharing.shape import SIGNED_SINCE, VERSION, columns, record
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.store import PointFilter, open_store, save_description
from fleetcal.store.climb_rows import StoredClimb
from fleetcal.store.models import (
    Base,
    CalibrationPoint,
    ClimbMeasurement,
    CruisePower,
    UncertaintyTerm,
)
from fleetcal.store.models import Leg as LegTable
from fleetcal.store.point_rows import StoredPoint
from fleetcal.units import TO_SI
from tests.publish.invented_table import filled_row, invented_readings, invented_table
from tests.store.invented_rows import FLEET, fill_every_table, fly, points

RECORDS = (BudgetTerm, Climb, Leg, Point, Power)
#: What a table has beside the columns of its record.
TABLES: list[tuple[type[Any], type[Base], set[str]]] = [
    (Leg, LegTable, {"id", "sortie_id"}),
    (Point, CalibrationPoint, {"id", "sortie_id", "decided_at"}),
    (BudgetTerm, UncertaintyTerm, {"id", "calibration_point_id"}),
    (Climb, ClimbMeasurement, {"id", "sortie_id", "decided_at", "added_at"}),
    (Power, CruisePower, {"id", "calibration_point_id", "noted_at"}),
]
EVERY_COLUMN = [
    pytest.param(one, id=f"{kind.__name__} {name}")
    for kind in RECORDS
    for name, one in columns_of(kind).items()
]


@pytest.mark.parametrize(("kind", "table", "besides"), TABLES)
def test_a_table_has_exactly_the_columns_of_its_record(
    kind: Any, table: type[Base], besides: set[str]
) -> None:
    mapped = inspect(table).columns
    assert {c.name for c in mapped} - besides == set(names_of(kind))
    for name, one in columns_of(kind).items():
        stored = mapped[name]
        assert stored.nullable == one.may_be_empty, name
        expected = {**Base.type_annotation_map, bool: Boolean()}[one.kind]
        assert type(stored.type) is type(expected), name


@pytest.mark.parametrize("kind", RECORDS)
def test_every_field_of_a_record_says_its_column(kind: Any) -> None:
    plain = {f.name for f in fields(kind)} - {"terms"}
    assert plain == set(columns_of(kind))


@pytest.mark.parametrize("one", EVERY_COLUMN)
def test_a_column_says_what_it_means_and_its_unit_is_known(one: RecordColumn) -> None:
    assert one.means
    assert one.kind is not str or one.unit == ""
    assert one.unit in {"", "%", *TO_SI}


def test_a_stored_record_is_printed_with_every_column() -> None:
    assert set(names_of(Point)) <= set(StoredPoint.LISTED)
    assert set(names_of(Climb)) <= set(StoredClimb.LISTED)
    assert {f.name for f in fields(StoredPoint)} == set(StoredPoint.LISTED)
    assert {f.name for f in fields(StoredClimb)} == set(StoredClimb.LISTED)


def test_a_reduction_prints_every_column_of_its_points() -> None:
    # Of all runs of a flight alike, and told with the flight.
    of_the_flight = {"technique", "flap_setting"}
    shown = {"number" if name == "run" else name for name in RunLine.LISTED}
    assert {f.name for f in fields(RunLine)} - of_the_flight == shown


def test_the_list_of_points_shows_what_is_listed() -> None:
    shown = {c.name: c.decimals for c in POINTS.columns}
    for name, one in columns_of(Point).items():
        assert (name in shown) == one.listed
        assert not one.listed or one.kind is not float or shown[name] == one.decimals


def test_a_file_of_points_has_every_column_that_is_no_number_of_its_own() -> None:
    assert set(names_of(Point)) - set(COLUMNS) == {"number"}


def test_points_that_are_exported_come_back_with_every_column(tmp_path: Path) -> None:
    optional = {name: _good(one) for name, one in columns_of(Point).items() if one.may_be_empty}
    optional["tas_kt"] = 64.0  # as it goes with the airspeed, or the point would be doubted
    with open_store(tmp_path / "here.store") as store:
        with store.writing() as session:
            save_description(session, FLEET)
            fly(session, gave=points(1, **optional))
        before = list_points(store, PointFilter()).points
    (tmp_path / "points.csv").write_text(points_csv(before))
    with open_store(tmp_path / "there.store") as store:
        with store.writing() as session:
            save_description(session, FLEET)
        import_points(store, tmp_path / "points.csv")
        after = list_points(store, PointFilter()).points
    made_anew = {"dvpc_kt", "u_dvpc_kt", "dhpc_ft", "u_dhpc_ft"}  # from kappa
    for name in set(names_of(Point)) - made_anew:
        assert getattr(after[0], name) == getattr(before[0], name), name


@pytest.mark.parametrize("kind", RECORDS)
def test_a_share_file_takes_a_record_with_every_column_and_no_other(kind: Any) -> None:
    values = {name: _good(one) for name, one in columns_of(kind).items()}
    check = record(*columns(kind))
    check(values, "here")
    with pytest.raises(FleetcalError, match="unknown name 'colour'"):
        check({**values, "colour": 1.0}, "here")
    for name, one in columns_of(kind).items():
        less = {n: v for n, v in values.items() if n != name}
        if one.since > 1 and one.may_be_empty:
            check(less, "here")
        else:
            with pytest.raises(FleetcalError, match=f"'{name}' is missing"):
                check(less, "here")


@pytest.mark.parametrize("kind", RECORDS)
def test_a_share_file_with_a_value_that_its_column_cannot_have_is_refused(kind: Any) -> None:
    values = {name: _good(one) for name, one in columns_of(kind).items()}
    check = record(*columns(kind))
    for name, one in columns_of(kind).items():
        for bad in _beyond(one):
            with pytest.raises(FleetcalError, match=f"here, {name}: is "):
                check({**values, name: bad}, "here")


def _good(one: RecordColumn) -> Any:
    """A value within all limits of a column."""
    if one.words:
        return one.words[0]
    if one.kind is not float:
        return {int: 1, bool: True, str: "x"}[one.kind]
    return 0.5


def _beyond(one: RecordColumn) -> list[Any]:
    """Values just beyond the limits of a column."""
    if one.words:
        return ["some other word" if one.kind is str else 77]
    if one.kind is str:
        return [] if one.blank else [" "]
    step = 1 if one.kind is int else 0.25
    found = [] if one.above is None else [one.kind(one.above)]
    found += [] if one.lowest is None else [one.kind(one.lowest) - step]
    return found + ([] if one.highest is None else [one.kind(one.highest) + step])


def test_the_share_format_is_of_the_version_of_its_newest_column() -> None:
    newest = max(one.since for kind in RECORDS for one in columns_of(kind).values())
    assert max(newest, SIGNED_SINCE) == VERSION


def test_what_a_store_shares_has_every_column_of_the_records(tmp_path: Path) -> None:
    with open_store(tmp_path / "a.store") as store:
        fill_every_table(store)
        share(store, tmp_path / "share.json", ShareChoice(issues=False))
    flights = json.loads((tmp_path / "share.json").read_text())["contents"]["things"]["flights"]
    point = flights[0]["content"]["sorties"][0]["points"][0]
    old = {name for name, one in columns_of(Point).items() if one.since == 1}
    assert old - {"accepted", "reason"} <= set(point)


def test_a_measurement_is_believed_only_within_the_limits_of_a_point() -> None:
    known = columns_of(Point)
    shared = {
        one.name: one
        for file in TECHNIQUE_FILES.values()
        for one in file.columns
        if one.name in known
    }
    assert {"vic_kt", "pressure_altitude_ft", "oat_degc"} <= set(shared)
    for name, one in shared.items():
        low, high = known[name].limits
        assert low <= one.lowest < one.highest <= high
        assert one.unit == known[name].unit


def test_a_number_beyond_a_limit_is_named_with_the_limit() -> None:
    share_of_one = column("a share", lowest=0.0, highest=1.0)
    assert share_of_one.fault(0.0) == share_of_one.fault(1.0) == ""
    assert share_of_one.fault(-0.1) == "is below 0"
    assert share_of_one.fault(1.1) == "is above 1"
    assert share_of_one.fault(math.nan) == ""
    assert column("a speed", above=0.0).fault(0.0) == "is not above zero"


@pytest.mark.parametrize("kind", [TableRow, ReadingRow])
def test_files_for_programs_have_every_value_of_a_row(kind: type[TableRow]) -> None:
    values: dict[str, Any] = {f.name: 40.0 + place for place, f in enumerate(fields(kind))}
    values |= {kind.GIVEN: 64.0, kind.ANSWER: 64.0 + 0.5 * kind.SIGN, "correction_kt": 0.5}
    values |= {"next_high_kt": 99.0, "airframes": 4, "flown_by": 5, "note": "words"}
    row = kind(**values)
    turned = isinstance(row, ReadingRow)
    table = invented_table(
        form=TableForm("cas-to-ias" if turned else "ias-to-cas"),
        rows=(filled_row(64.0),) if turned else (row,),
        readings=(row,) if turned else invented_readings(),
    )
    (written,) = json.loads(table_json(table))["rows"]
    assert row.light_answer_kt in written.values()
    for name in {field.name for field in fields(kind)} - {"light_correction_kt"}:
        assert getattr(row, name) in written.values(), name


def test_a_whole_number_may_be_zero_where_its_column_begins_there() -> None:
    check = shape.column(RecordColumn(kind=int, lowest=0))
    check(0, "sortie 1")
    for value in (-1, 1.0, True, 2**31):
        with pytest.raises(MalformedFileError):
            check(value, "sortie 1")
