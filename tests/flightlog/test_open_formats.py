from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from fleetcal.errors import FleetcalError, MalformedFileError, MissingColumnError
from fleetcal.flightlog import read_recording
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.records import icartt, igc

KMH = 1.0 / 3.6


@pytest.fixture(scope="module")
def flown():
    return fly(1, 86400.0 - 100.0).rows(slice(0, 300))


def read(tmp_path, text):
    path = tmp_path / "flight.dat"
    path.write_bytes(text.encode("latin-1"))
    return read_recording(path)


def refused(tmp_path, text, kind, *named):
    with pytest.raises(kind) as refusal:
        read(tmp_path, text)
    for part in named:
        assert part in refusal.value.message
    assert refusal.value.hint
    assert isinstance(refusal.value, FleetcalError)


def test_icartt_is_read_by_its_header(tmp_path, flown):
    recording = read(tmp_path, icartt(flown))
    assert recording.start_utc == datetime(2024, 5, 2, 23, 58, 20, tzinfo=UTC)
    # from 23:58:20 on, seconds of the day run on beyond 86400 by the standard
    assert recording.t_s[-1] == 299.0
    assert recording.track_reference == "true"
    found = recording.channels
    np.testing.assert_allclose(found["indicated_airspeed"], flown.ias_kt / 1.943844, atol=6e-4)
    np.testing.assert_allclose(found["pressure_altitude"], flown.altitude_ft * 0.3048, atol=6e-3)


def test_icartt_codes_and_scales_are_applied(tmp_path, flown):
    text = icartt(flown).replace("1, 1, 1, 1, 1, 1", "1, 0.5, 1, 1, 1, 1")
    lines = text.splitlines()
    cells = lines[-10].split(", ")
    cells[2] = "-9999"
    cells[3] = "-8888"
    lines[-10] = ", ".join(cells)
    recording = read(tmp_path, "\n".join(lines))
    speed = recording.channels["indicated_airspeed"]
    assert np.isnan(speed[-10])
    assert np.isnan(recording.channels["temperature"][-10])
    np.testing.assert_allclose(speed[:200], 0.5 * flown.ias_kt[:200] / 1.943844, atol=6e-4)


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ("23, 1001", "2300, 1001", "line 1"),
        ("2024, 05, 02", "2024, 15, 02", "line 7"),
        ("\n6\n", "\nsix\n", "line 10"),
        ("1, 1, 1, 1, 1, 1", "1, 1, 1, 1", "line 11"),
        ("-9999, -9999, ", "-9999, none, ", "line 12"),
    ],
)
def test_a_broken_icartt_header_is_refused_with_its_line(tmp_path, flown, old, new, named):
    text = icartt(flown)
    assert old in text
    refused(tmp_path, text.replace(old, new, 1), MalformedFileError, named)


def test_icartt_without_a_needed_variable_names_what_is_there(tmp_path, flown):
    text = icartt(flown).replace("TRKA, degrees_true, Platform_Track, GPS ground track", "X, 1, y")
    refused(tmp_path, text, MissingColumnError, "track", "'PALT'")


def test_igc_is_read_by_its_i_record_over_midnight(tmp_path, flown):
    recording = read(tmp_path, igc(flown))
    assert recording.start_utc == datetime(2024, 5, 2, 23, 58, 20, tzinfo=UTC)
    assert recording.t_s[-1] == 299.0
    found = recording.channels
    np.testing.assert_allclose(found["indicated_airspeed"] / KMH, flown.ias_kt * 1.852, atol=6e-3)
    np.testing.assert_allclose(np.degrees(found["track"]), flown.track_deg, atol=6e-3)
    np.testing.assert_allclose(np.degrees(found["latitude"]), flown.latitude_deg, atol=1e-5)
    assert recording.track_reference == "true"


def test_igc_ground_vectors_come_from_positions_where_no_field_has_them(tmp_path, flown):
    text = igc(flown).replace("GSP", "XXX").replace("TRT", "YYY")
    recording = read(tmp_path, text)
    assert any("from positions" in warning for warning in recording.warnings)
    speed = recording.channels["ground_speed"][100:250]
    # positions are written to a thousandth of a minute, 1.9 m, over four seconds
    np.testing.assert_allclose(speed, flown.gs_kt[100:250] * 0.514444, atol=1.2)
    assert abs(np.mean(speed - flown.gs_kt[100:250] * 0.514444)) < 0.1


def test_igc_rows_without_a_fix_have_no_ground_vector(tmp_path, flown):
    lines = igc(flown).splitlines()
    rows = [i for i, line in enumerate(lines) if line.startswith("B")]
    for i in rows[50:80]:
        lines[i] = lines[i][:24] + "V" + lines[i][25:]
    found = read(tmp_path, "\n".join(lines)).channels
    assert np.isnan(found["ground_speed"][50:80]).all()
    assert np.isfinite(found["indicated_airspeed"][50:80]).all()


def test_igc_without_airspeed_or_temperature_is_refused(tmp_path, flown):
    refused(tmp_path, igc(flown).replace("IAS", "ENL"), MissingColumnError, "airspeed")
    refused(tmp_path, igc(flown).replace("OAT", "ENL"), MissingColumnError, "temperature")


@pytest.mark.parametrize("field", ["I043640IAS", "I049940IAS", "I0436"])
def test_a_broken_i_record_is_refused_with_its_line(tmp_path, flown, field):
    text = igc(flown).replace("I043640IAS4145GSP4650TRT5154OAT", field + "4145")
    refused(tmp_path, text, FleetcalError, "flight.dat")


def test_many_broken_b_records_are_refused_a_few_left_out(tmp_path, flown):
    lines = igc(flown).splitlines()
    rows = [i for i, line in enumerate(lines) if line.startswith("B")]
    lines[rows[20]] = lines[rows[20]][:15]
    recording = read(tmp_path, "\n".join(lines))
    assert recording.t_s.size == 299
    assert any("1 B records" in warning for warning in recording.warnings)
    for i in rows[100:140]:
        lines[i] = "B" + "x" * 40
    refused(tmp_path, "\n".join(lines), MalformedFileError, "line", "not a B record")
