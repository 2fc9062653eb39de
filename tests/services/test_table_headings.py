"""Headings as people write them mean one column or are refused."""

from __future__ import annotations

import pytest

from fleetcal.errors import MalformedFileError
from fleetcal.services.fleet.sheet_columns import COLUMNS
from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES
from fleetcal.services.points.exchange_points import COLUMNS as POINT_COLUMNS
from fleetcal.services.table_columns import KnownColumn
from fleetcal.services.table_headings import KnownHeadings
from fleetcal.services.table_words import columns_named

POINTS = columns_named(POINT_COLUMNS, vic_kt=("ias",))
WHERE = "club.csv, line 1"


def meant(columns: tuple[KnownColumn, ...], heading: str) -> tuple[str, str, bool]:
    (found,) = KnownHeadings(columns).match([heading], (), WHERE)
    return found.column.name, found.unit, found.unit_stated


@pytest.mark.parametrize(
    ("heading", "column", "unit", "stated"),
    [
        ("A/C Reg", "airframe", "", True),
        ("Tail No.", "airframe", "", True),
        ("Date of flight", "flown_on", "", True),
        ("Date (dd/mm/yyyy)", "flown_on", "day first", True),
        ("KIAS", "vic_kt", "kt", True),
        ("IAS (mph)", "vic_kt", "mph", True),
        ("ias_km/h", "vic_kt", "km/h", True),
        ("VIC_KT", "vic_kt", "kt", True),
        ("Weight, lbs", "weight_kg", "lb", True),
        ("wt", "weight_kg", "kg", False),
        ("Press. Alt [m]", "pressure_altitude_ft", "m", True),
        ("OAT (deg C)", "oat_degc", "degC", True),
        ("OAT degrees F", "oat_degc", "degF", True),
        ("Temp °F", "oat_degc", "degF", True),
        ("Correction kt", "dvpc_kt", "kt", True),
        ("Uncertainty of correction", "u_dvpc_kt", "kt", False),
        ("Altitude correction (m)", "dhpc_ft", "m", True),
        ("kappa", "kappa", "", True),
        ("Wind dir (deg)", "wind_from_deg", "deg", True),
    ],
)
def test_everyday_headings_of_points_are_understood(
    heading: str, column: str, unit: str, stated: bool
) -> None:
    assert meant(POINTS, heading) == (column, unit, stated)


@pytest.mark.parametrize(
    ("heading", "column", "unit"),
    [
        ("Static port(s)", "static_source", ""),
        ("MTOW lb", "reference_weight_kg", "lb"),
        ("Vs0 (mph)", "stall_speed_landing_kt", "mph"),
        ("Stall speed (KIAS)", "stall_speed_clean_kt", "kt"),
        ("VNE km/h", "never_exceed_kt", "km/h"),
        ("Wing area (m²)", "wing_area_m2", ""),
        ("Since", "from", ""),
    ],
)
def test_everyday_headings_of_a_fleet_are_understood(heading: str, column: str, unit: str) -> None:
    assert meant(COLUMNS, heading)[:2] == (column, unit)


@pytest.mark.long
@pytest.mark.parametrize("technique", list(TECHNIQUE_FILES))
def test_no_exact_heading_means_two_columns(technique: str) -> None:
    names = [column.name for column in TECHNIQUE_FILES[technique].columns]
    for columns in (columns_named(names), POINTS, COLUMNS):
        for column in columns:
            for heading in (column.name, column.name.upper(), column.name.replace("_", " ")):
                assert meant(columns, heading)[0] == column.name


@pytest.mark.parametrize(
    ("heading", "message", "hint"),
    [
        ("Colour", "unknown column 'Colour'", "columns are airframe, flown_on"),
        ("Corection", "unknown column 'Corection'", "nearest is dvpc_kt; "),
        ("Error (kt)", "unknown column 'Error (kt)'", "have opposite signs"),
        ("CAS", "unknown column 'CAS'", "CAS - IAS"),
        ("U95 kt", "unknown column 'U95 kt'", "half of that at 95 %"),
        ("Correction (ft)", "'Correction (ft)' is in 'ft', but dvpc_kt takes kt", "convert"),
        ("IAS (fps)", "'IAS (fps)' is in 'fps'", "convert"),
        ("kappa (kt)", "'kappa (kt)' is in 'kt', but kappa takes no unit", "convert"),
        ("GPS altitude", "unknown column 'GPS altitude'", "columns are"),
        ("±", "unknown column '±'", "columns are"),
    ],
)
def test_other_headings_are_refused_with_the_nearest(heading: str, message: str, hint: str) -> None:
    with pytest.raises(MalformedFileError) as refused:
        meant(POINTS, heading)
    assert refused.value.message.startswith(f"{WHERE}: {message}")
    assert hint in refused.value.hint


def test_a_heading_without_a_unit_that_can_mean_two_columns_is_refused() -> None:
    columns = columns_named(column.name for column in TECHNIQUE_FILES["tower-fly-by"].columns)
    with pytest.raises(MalformedFileError, match="'Height' can mean height_m or height_ft"):
        meant(columns, "Height")
    assert meant(columns, "Height (m)") == ("height_m", "m", True)
    assert meant(columns, "Height, feet") == ("height_ft", "ft", True)
