from __future__ import annotations

import re
from contextlib import suppress

import numpy as np
import pytest

from fleetcal.errors import (
    DataError,
    EmptyFileError,
    FleetcalError,
    MalformedFileError,
    MissingColumnError,
    NotTextError,
)
from fleetcal.flightlog import read_recording, read_table
from tests.flightlog.log_writer import dialects, plain_log


def written(tmp_path, text):
    path = tmp_path / "flight.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def without_column(heading_start):
    lines = [line.split(",") for line in plain_log().splitlines()]
    place = next(i for i, h in enumerate(lines[0]) if h.startswith(heading_start))
    return "\n".join(",".join(c[:place] + c[place + 1 :]) for c in lines)


@pytest.mark.parametrize("text", [b"", b"  \n \r\n", plain_log().splitlines()[0].encode()])
def test_a_file_without_rows_is_refused_as_empty(tmp_path, text):
    with pytest.raises(EmptyFileError, match=r"flight\.csv"):
        read_table(written(tmp_path, text))


@pytest.mark.parametrize(
    "content", [bytes(range(256)) * 20, b"PK\x03\x04rest", b"\x1f\x8b\x08\x00abc", b"%PDF-1.7 x"]
)
def test_a_file_that_is_not_text_is_refused(tmp_path, content):
    with pytest.raises(NotTextError, match=r"flight\.csv"):
        read_table(written(tmp_path, content))


@pytest.mark.parametrize(
    "text",
    [
        "B1101355206343N00006198WA0058700558\n" * 50,
        "A letter about a flight.\nIt was a fine day, and we flew.\n",
        "1,2,3\n4,5,6\n",
        '{"speed": 90, "altitude": 4000}\n',
    ],
)
def test_text_that_is_no_table_with_headings_is_refused(tmp_path, text):
    with pytest.raises(MalformedFileError) as caught:
        read_recording(written(tmp_path, text))
    assert "flight.csv" in caught.value.message
    assert caught.value.hint


def test_a_path_that_does_not_exist_is_a_data_error(tmp_path):
    with pytest.raises(DataError, match="nowhere"):
        read_table(tmp_path / "nowhere.csv")


@pytest.mark.parametrize(
    ("column", "named"),
    [
        ("track", "GPS ground track"),
        ("ground speed", "ground speed"),
        ("OAT", "temperature"),
        ("IAS", "airspeed"),
        ("pressure altitude", "altitude"),
    ],
)
def test_a_missing_quantity_is_named_with_the_headings_that_are_there(tmp_path, column, named):
    with pytest.raises(MissingColumnError, match=named) as caught:
        read_recording(written(tmp_path, without_column(column)))
    assert "'UTC time'" in caught.value.message
    assert caught.value.hint


def test_a_log_without_any_clock_is_refused(tmp_path):
    lines = [line.split(",", 2)[2] for line in plain_log().splitlines()]
    with pytest.raises(MissingColumnError, match="clock"):
        read_recording(written(tmp_path, "\n".join(lines)))


def test_a_quantity_whose_cells_are_all_empty_is_missing(tmp_path):
    text = re.sub(r",\d+$", ",", plain_log(), flags=re.MULTILINE)
    with pytest.raises(MissingColumnError, match="track"):
        read_recording(written(tmp_path, text))


def test_an_altitude_that_does_not_say_which_is_not_taken_for_pressure_altitude(tmp_path):
    text = plain_log().replace("pressure altitude", "altitude")
    with pytest.raises(MissingColumnError, match="pressure altitude") as caught:
        read_recording(written(tmp_path, text))
    assert "altimeter setting" in caught.value.hint


def test_calibrated_airspeed_is_not_taken_for_a_reading(tmp_path):
    with pytest.raises(MissingColumnError, match="airspeed"):
        read_recording(written(tmp_path, plain_log().replace("IAS (kt)", "CAS (kt)")))


def test_a_few_spoilt_cells_become_missing_with_a_warning_that_names_the_line(tmp_path):
    lines = plain_log(200).splitlines()
    lines[41] = lines[41].replace("12.5", "12.x")
    recording = read_recording(written(tmp_path, "\n".join(lines)))
    assert np.flatnonzero(np.isnan(recording.channels["temperature"])).tolist() == [40]
    (warning,) = [w for w in recording.warnings if "12.x" in w]
    assert "line 42" in warning
    assert "OAT" in warning


def test_many_spoilt_cells_are_refused_with_line_column_and_value(tmp_path):
    lines = plain_log(200).splitlines()
    for i in range(20, 30):
        lines[i] = lines[i].replace("12.5", "warm")
    with pytest.raises(MalformedFileError) as caught:
        read_recording(written(tmp_path, "\n".join(lines)))
    for part in ("line 21", "OAT (degC)", "'warm'"):
        assert part in caught.value.message


def test_many_ragged_rows_are_refused_with_the_line(tmp_path):
    lines = plain_log(200).splitlines()
    for i in range(20, 30):
        lines[i] += ",1,2"
    with pytest.raises(MalformedFileError, match="line 21: 9 cells"):
        read_recording(written(tmp_path, "\n".join(lines)))


def test_a_last_row_cut_off_by_loss_of_power_is_left_out(tmp_path):
    recording = read_recording(written(tmp_path, plain_log(100)[:-20]))
    assert recording.t_s.size == 99
    assert any("wrong number of cells" in warning for warning in recording.warnings)


def test_headings_repeated_by_a_restarted_recorder_are_left_out(tmp_path):
    lines = plain_log(100).splitlines()
    recording = read_recording(written(tmp_path, "\n".join([*lines[:51], lines[0], *lines[51:]])))
    assert recording.t_s.size == 100
    assert any("line 52" in warning for warning in recording.warnings)


@pytest.mark.parametrize("code", ["", "-9999", "-9999.0", "NaN", "n/a", "---", "-9999.9"])
def test_codes_for_missing_values_become_nan_without_a_word(tmp_path, code):
    lines = plain_log(100).splitlines()
    for i in range(11, 41):
        cells = lines[i].split(",")
        cells[2] = code
        lines[i] = ",".join(cells)
    recording = read_recording(written(tmp_path, "\n".join(lines)))
    missing = np.isnan(recording.channels["indicated_airspeed"])
    assert np.flatnonzero(missing).tolist() == list(range(10, 40))
    assert recording.warnings == ()


def test_values_that_cannot_be_count_as_missing_and_are_named(tmp_path):
    lines = plain_log(100).splitlines()
    lines[30] = lines[30].replace(",12.5,", ",999.9,")
    recording = read_recording(written(tmp_path, "\n".join(lines)))
    assert np.isnan(recording.channels["temperature"][29])
    assert any("999.9 in line 31" in warning for warning in recording.warnings)


def test_a_stray_quote_costs_one_row_at_most(tmp_path):
    lines = plain_log(200).splitlines()
    lines[100] = '"' + lines[100]
    recording = read_recording(written(tmp_path, "\n".join(lines)))
    assert recording.t_s.size >= 199


@pytest.mark.parametrize("seed", range(60))
def test_damaged_files_end_in_a_sound_recording_or_in_an_error_of_ours(tmp_path, seed):
    rng = np.random.default_rng(seed)
    source = [*dialects().values()][seed % len(dialects())]
    content = bytearray(source)
    junk = [b",", b";", b'"', b"\n", b"-9999", b"1e400", b"\xff", b":", b"25:61:61", b"9" * 30]
    for _ in range(rng.integers(1, 40)):
        place = int(rng.integers(0, len(content)))
        if rng.random() < 0.3:
            del content[place : place + int(rng.integers(1, 30))]
        else:
            content[place:place] = junk[rng.integers(len(junk))]
    with suppress(FleetcalError):
        recording = read_recording(written(tmp_path, bytes(content)))
        assert np.all(np.diff(recording.t_s) > 0.0)
        assert all(values.shape == recording.t_s.shape for values in recording.channels.values())
