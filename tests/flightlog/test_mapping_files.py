from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import DataError, FleetcalError, MalformedFileError, MissingColumnError
from fleetcal.flightlog import (
    any_table,
    map_columns,
    mapping_toml,
    read_mapping,
    read_recording,
    read_recordings,
    understand_columns,
)
from tests.flightlog.log_writer import plain_log

KT = 1852.0 / 3600.0
HEADINGS = "UTC date,UTC time,V1,pressure altitude (ft),OAT (degC),V2,track (deg true)"


def log(tmp_path, text=None):
    path = tmp_path / "flight.csv"
    path.write_text(text or "\n".join([HEADINGS, *plain_log().splitlines()[1:]]))
    return path


def mapping(tmp_path, text):
    path = tmp_path / "recorder.toml"
    path.write_text(text)
    return read_mapping(path)


def test_a_mapping_completes_what_the_headings_leave_open(tmp_path):
    path = log(tmp_path)
    with pytest.raises(MissingColumnError):
        read_recording(path)
    said = mapping(
        tmp_path,
        'indicated_airspeed = { column = "v1", unit = "kts" }\n'
        'ground_speed = { column = 6, unit = "mph" }\n',
    )
    recording = read_recording(path, said)
    plain = read_recording(log(tmp_path, plain_log()))
    np.testing.assert_allclose(
        recording.channels["indicated_airspeed"], plain.channels["indicated_airspeed"]
    )
    share = 1609.344 / 1852.0
    np.testing.assert_allclose(
        recording.channels["ground_speed"], share * plain.channels["ground_speed"]
    )


def test_a_mapping_overrides_a_heading_and_its_codes_are_missing_values(tmp_path):
    text = plain_log().replace(",90.1,", ",-1,").replace(",90.2,", ",dead,")
    said = mapping(
        tmp_path,
        'indicated_airspeed = { column = "IAS (kt)", unit = "m/s", missing = [-1, "dead"] }',
    )
    speed = read_recording(log(tmp_path, text), said).channels["indicated_airspeed"]
    assert np.isnan(speed).sum() == 18
    assert np.nanmin(speed) == pytest.approx(90.0)


def test_ignored_columns_are_left_alone_and_north_is_taken_at_its_word(tmp_path):
    said = mapping(tmp_path, 'north = "magnetic"\nignore = ["UTC date"]\n')
    recording = read_recording(log(tmp_path, plain_log()), said)
    assert recording.start_utc is None
    assert recording.track_reference == "magnetic"


def test_one_part_of_several_can_be_chosen(tmp_path):
    lines = plain_log().replace("2024-05-02,10:", "2024-05-02,02:").splitlines()[1:]
    text = plain_log() + "\n".join(lines)
    first, second = read_recordings(log(tmp_path, text))
    (chosen,) = read_recordings(log(tmp_path, text), mapping(tmp_path, "part = 2"))
    assert (chosen.part, chosen.start_utc) == (2, second.start_utc)
    assert first.start_utc != second.start_utc
    with pytest.raises(MalformedFileError, match="part 3"):
        read_recordings(log(tmp_path, text), mapping(tmp_path, "part = 3"))


def test_what_was_understood_can_be_saved_and_read_back(tmp_path):
    path = log(tmp_path, plain_log())
    table = any_table(path)
    choices = understand_columns(table)
    said = mapping(tmp_path, mapping_toml(table, choices, "true"))
    again = map_columns(table, choices, said)
    assert [(c.quantity, c.index, c.unit) for c in again] == [
        (c.quantity, c.index, c.unit) for c in choices
    ]
    assert all(choice.mapped for choice in again)
    one, two = read_recording(path), read_recording(path, said)
    assert one.start_utc == two.start_utc
    for name, values in one.channels.items():
        np.testing.assert_array_equal(values, two.channels[name])


def test_headings_that_need_quoting_survive_saving(tmp_path):
    text = plain_log().replace("IAS (kt)", 'IAS \\ "left" é (kt)')
    path = log(tmp_path, text)
    table = any_table(path)
    said = mapping(tmp_path, mapping_toml(table, understand_columns(table), None))
    assert read_recording(path, said).t_s.size == read_recording(path).t_s.size


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("speed = { column = 1 }", "unknown quantity 'speed'"),
        ("track = 7", "track = 7"),
        ("track = { column = 0 }", "track"),
        ("track = { column = true }", "track"),
        ('track = { column = 7, unit = "kt" }', "unit 'kt'"),
        ('track = { column = 7, units = "deg" }', "key 'units'"),
        ("track = { column = 7, missing = 5 }", "missing = 5"),
        ('epoch_time = { column = 7, unit = "fortnight" }', "unit 'fortnight'"),
        ("part = 0", "part = 0"),
        ('north = "up"', "north = 'up'"),
        ("ignore = 3", "ignore = 3"),
        ("track = { column = 7, believe = 1 }", "believe = 1"),
        ("track = ", "recorder.toml"),
    ],
)
def test_a_mapping_that_cannot_be_is_refused_by_name(tmp_path, text, named):
    with pytest.raises(FleetcalError) as refusal:
        mapping(tmp_path, text)
    assert named in refusal.value.message
    assert refusal.value.hint


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ('track = { column = "TRK" }', "'TRK'"),
        ("track = { column = 12 }", "column 12"),
        ('static_pressure = { column = "IAS (kt)" }', "needs a unit"),
    ],
)
def test_a_mapping_that_does_not_fit_the_log_is_refused(tmp_path, text, named):
    with pytest.raises(FleetcalError) as refusal:
        read_recording(log(tmp_path, plain_log()), mapping(tmp_path, text))
    assert named in refusal.value.message


def test_a_mapping_that_is_not_there_is_a_data_error(tmp_path):
    with pytest.raises(DataError, match="nowhere"):
        read_mapping(tmp_path / "nowhere.toml")
