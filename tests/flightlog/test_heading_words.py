from __future__ import annotations

import pytest

from fleetcal.flightlog import read_recording, read_table, understand_columns
from fleetcal.flightlog.columns import unread_units
from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.quantities import match_quantity


@pytest.mark.parametrize(
    ("heading", "quantity"),
    [
        ("IAS (kt)", "indicated_airspeed"),
        ("ias_kts", "indicated_airspeed"),
        ("Indicated Air Speed, kt", "indicated_airspeed"),
        ("KIAS", "indicated_airspeed"),
        ("IndicatedAirspeed", "indicated_airspeed"),
        ("Airspeed [kt]", "indicated_airspeed"),
        ("TAS", "true_airspeed"),
        ("true_airspeed_mps", "true_airspeed"),
        ("CAS (kt)", "calibrated_airspeed"),
        ("GroundSpd", "ground_speed"),
        ("GPS Speed (km/h)", "ground_speed"),
        ("Speed over ground", "ground_speed"),
        ("GS", "ground_speed"),
        ("TRK", "track"),
        ("Ground Track (° true)", "track"),
        ("Course over ground", "track"),
        ("COG_deg", "track"),
        ("HDG", "heading"),
        ("mag heading (deg)", "heading"),
        ("PressAlt", "pressure_altitude"),
        ("Press. Alt (ft)", "pressure_altitude"),
        ("altitude 1013 (ft)", "pressure_altitude"),
        ("Altitude STANDARD", "pressure_altitude"),
        ("alt MSL (ft)", "gps_altitude"),
        ("GNSS height", "gps_altitude"),
        ("GPSAlt (ft)", "gps_altitude"),
        ("altmsl_ft", "gps_altitude"),
        ("hMSL (m)", "gps_altitude"),
        ("HAE [m]", "gps_altitude"),
        ("Satellite height (m)", "gps_altitude"),
        ("ellipsoidal height (m)", "gps_altitude"),
        ("WGS-84 altitude", "gps_altitude"),
        ("GPS elevation (m)", "gps_altitude"),
        ("gps_ele", "gps_altitude"),
        ("Height above mean sea level (m)", "gps_altitude"),
        ("Altitude above geoid", "gps_altitude"),
        ("Pressure altitude MSL (ft)", "pressure_altitude"),
        ("Indicated altitude", "baro_altitude"),
        ("Barometric Altitude", "baro_altitude"),
        ("QNH (hPa)", "altimeter_setting"),
        ("Altimeter setting [inHg]", "altimeter_setting"),
        ("Static pressure", "static_pressure"),
        ("dynamic_pressure", "impact_pressure"),
        ("qc (Pa)", "impact_pressure"),
        ("OAT", "probe_temperature"),
        ("Outside air temp", "probe_temperature"),
        ("SAT (degC)", "static_temperature"),
        ("ambient_temp", "static_temperature"),
        ("TAT", "total_temperature"),
        ("Bank angle (deg)", "roll"),
        ("VSpd (fpm)", "vertical_speed"),
        ("Rate of climb", "vertical_speed"),
        ("Mach", "mach"),
        ("Latitude", "latitude"),
        ("flaps", "flap_setting"),
        ("Fuel Flow (gal/h)", "fuel_flow"),
        ("FF gph", "fuel_flow"),
        ("Fuel Qty (l)", "fuel_quantity"),
        ("FOB [kg]", "fuel_quantity"),
        ("track_deg_true", "track"),
        ("Airspd, kts", "indicated_airspeed"),
        ("PA (ft)", "pressure_altitude"),
        ("RH (%)", "relative_humidity"),
        ("Relative Humidity", "relative_humidity"),
        ("humidity_pct", "relative_humidity"),
        ("Dew point", "dew_point"),
        ("dewpoint_degc", "dew_point"),
        ("Outside dew point (degF)", "dew_point"),
    ],
)
def test_a_heading_is_understood(heading, quantity):
    match = match_quantity(take_apart(heading))
    assert match is not None
    assert match.quantity == quantity


@pytest.mark.parametrize(
    "heading",
    [
        "Selected altitude (ft)",
        "Altitude bug",
        "Selected heading",
        "desired track (deg)",
        "DTK",
        "Wind speed (kt)",
        "Wind direction",
        "Oil temp (C)",
        "Oil pressure",
        "CHT 1",
        "EGT 4 (F)",
        "Fuel pressure",
        "Fuel qty left (gal)",
        "Fuel flow total",
        "Manifold pressure (inHg)",
        "Cabin temperature",
        "Density altitude (ft)",
        "Track error (deg)",
        "Cross track (nm)",
        "Roll rate (deg/s)",
        "Magnetic variation",
        "Stall speed",
        "GPS accuracy (m)",
        "Altitude (ft)",
        "Geoid separation (m)",
        "Geoid height (m)",
        "GPS altitude std (m)",
        "GPS altitude rate (ft/min)",
        "GPS height above ground",
        "Terrain elevation (ft)",
        "Elevation mask",
        "Elevation (m)",
        "Mean sea level pressure (hPa)",
        "SAT at altitude",
        "RPM",
        "Ground speed east (m/s)",
        "Cabin humidity (%)",
        "Dew point spread (degC)",
        "CHT RH (degC)",
        "Radio altitude (ft)",
        "Turn rate",
        "Pitch",
        "Vertical acceleration",
        "Ground speed limit",
        "Carb temp (C)",
        "Time remaining (min)",
    ],
)
def test_a_heading_of_something_else_is_left_alone(heading):
    assert match_quantity(take_apart(heading)) is None


HEAD = "UTC time,OAT (degC),ground speed (kt),pressure altitude (ft)"
TAIL = "12.5,101.0,4000"


def table_of(tmp_path, columns):
    path = tmp_path / "flight.csv"
    names = ",".join([HEAD, *columns])
    rows = [
        ",".join([f"10:00:{s:02d}", TAIL, *(cells(s) for cells in columns.values())])
        for s in range(40)
    ]
    path.write_text("\n".join([names, *rows]))
    return path


def test_of_two_columns_of_one_quantity_the_filled_one_is_chosen(tmp_path):
    path = table_of(tmp_path, {"IAS 1 (kt)": lambda s: "", "IAS 2 (kt)": lambda s: "90"})
    chosen = {c.quantity: c for c in understand_columns(read_table(path))}
    assert chosen["indicated_airspeed"].heading == "IAS 2 (kt)"


def test_a_unit_that_is_not_written_is_assumed_aloud(tmp_path):
    path = table_of(tmp_path, {"IAS": lambda s: "90", "track (deg)": lambda s: "45"})
    chosen = {c.quantity: c for c in understand_columns(read_table(path))}
    assert chosen["indicated_airspeed"].unit == "kt"
    assert not chosen["indicated_airspeed"].unit_stated
    assert chosen["indicated_airspeed"].confidence < chosen["track"].confidence
    assert "'IAS' states no unit; kt is assumed" in read_recording(path).warnings


@pytest.mark.parametrize(
    ("heading", "reference"),
    [
        ("track (deg true)", "true"),
        ("true track (deg)", "true"),
        ("Trk (degT)", "true"),
        ("track (deg mag)", "magnetic"),
        ("magnetic track [°]", "magnetic"),
        ("track (deg)", "unknown"),
    ],
)
def test_the_north_that_tracks_count_from_is_read_from_the_heading(tmp_path, heading, reference):
    path = table_of(tmp_path, {"IAS (kt)": lambda s: "90", heading: lambda s: "45"})
    assert read_recording(path).track_reference == reference


@pytest.mark.parametrize(
    ("columns", "kind", "degrees"),
    [
        ({"SAT (degC)": "9"}, "static", 9.0),
        ({"TAT (degC)": "14", "SAT (degC)": "9"}, "static", 9.0),
        ({"TAT (degC)": "14"}, "total", 14.0),
        ({}, "probe", 12.5),
    ],
)
def test_the_kind_of_temperature_is_told(tmp_path, columns, kind, degrees):
    extra = {heading: lambda s, cell=cell: cell for heading, cell in columns.items()}
    path = table_of(tmp_path, {"IAS (kt)": lambda s: "90", "track": lambda s: "45", **extra})
    recording = read_recording(path)
    assert recording.temperature_kind == kind
    assert recording.channels["temperature"][0] == pytest.approx(273.15 + degrees)
    if "TAT (degC)" in columns:
        assert recording.channels["total_temperature"][0] == pytest.approx(273.15 + 14.0)


@pytest.mark.parametrize(
    ("heading", "written", "kg_per_s"),
    [
        ("fuel flow (kg/h)", "18.0", 18.0 / 3600.0),
        ("fuel flow (lb/h)", "40.0", 40.0 * 0.45359237 / 3600.0),
        ("fuel flow (l/h)", "25.0", 25.0 * 0.72 / 3600.0),
        ("FF (gph)", "6.0", 6.0 * 3.785411784 * 0.72 / 3600.0),
    ],
)
def test_fuel_flow_becomes_mass_and_an_assumed_density_is_told(
    tmp_path, heading, written, kg_per_s
):
    columns = {
        heading: lambda s: written,
        "IAS (kt)": lambda s: "90.0",
        "track (deg)": lambda s: f"{s % 7}",
    }
    recording = read_recording(table_of(tmp_path, columns))
    assert recording.channels["fuel_flow"][0] == pytest.approx(kg_per_s)
    told = any("0.72 kg/l" in warning for warning in recording.warnings)
    assert told == ("l/h" in heading or "gph" in heading)


def unread(tmp_path, heading):
    path = table_of(tmp_path, {heading: lambda s: f"{90 + s % 7}"})
    return [name for names in unread_units(read_table(path)).values() for name in names]


@pytest.mark.parametrize(
    "heading",
    ["Ps_mmHg", "IAS (ft/s)", "Pitot pressure [inH2O]", "SAT (R)", "pressure altitude FL"],
)
def test_a_stated_unit_that_is_not_read_is_never_taken_for_the_usual_one(tmp_path, heading):
    assert unread(tmp_path, heading) == [heading]
    path = table_of(tmp_path, {heading: lambda s: f"{90 + s % 7}"})
    assert heading not in {choice.heading for choice in understand_columns(read_table(path))}


@pytest.mark.parametrize("heading", ["IAS R", "SAT L", "IAS L (kt)", "TRK (T)", "Altitude (std)"])
def test_left_right_and_other_words_are_no_units(tmp_path, heading):
    assert unread(tmp_path, heading) == []


def test_a_column_left_alone_for_its_unit_is_named(tmp_path):
    columns = {"IAS (kt)": lambda s: "90", "track": lambda s: "45", "VSpd (m/min)": lambda s: "3"}
    warnings = read_recording(table_of(tmp_path, columns)).warnings
    assert "'VSpd (m/min)' is not used: its unit is not known" in warnings
