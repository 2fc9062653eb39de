from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog import read_recording
from tests.flightlog.log_writer import hms, plain_log

TAIL = "90.0,4000,12.5,101.0,45"
HEAD = "IAS (kt),pressure altitude (ft),OAT (degC),ground speed (kt),track (deg)"


def recorded(tmp_path, clock_heading, clock_cells):
    path = tmp_path / "clock.csv"
    rows = [f"{cell},{TAIL}" for cell in clock_cells]
    path.write_text("\n".join([f"{clock_heading},{HEAD}", *rows]))
    return read_recording(path)


def test_midnight_is_unrolled_with_and_without_a_date(tmp_path):
    seconds = np.arange(86380, 86420)
    bare = recorded(tmp_path, "UTC time", [hms(s % 86400) for s in seconds])
    assert bare.start_utc is None
    assert bare.t_s.tolist() == list(range(40))
    dated = recorded(
        tmp_path,
        "UTC date,UTC time",
        [f"2024-05-0{2 + s // 86400},{hms(s % 86400)}" for s in seconds],
    )
    assert dated.start_utc == datetime(2024, 5, 2, 23, 59, 40, tzinfo=UTC)
    assert dated.t_s.tolist() == list(range(40))


def test_a_date_that_stays_that_of_the_start_does_not_move_the_clock(tmp_path):
    cells = [f"2024-05-02,{hms(s % 86400)}" for s in range(86380, 86420)]
    recording = recorded(tmp_path, "UTC date,UTC time", cells)
    assert recording.t_s.tolist() == list(range(40))
    assert recording.start_utc == datetime(2024, 5, 2, 23, 59, 40, tzinfo=UTC)


def test_repeated_and_backward_rows_are_left_out_with_a_warning(tmp_path):
    seconds = [*range(50), 49, 49, 20, 21, *range(50, 100)]
    recording = recorded(tmp_path, "elapsed time (s)", seconds)
    assert recording.t_s.tolist() == list(range(100))
    assert any("2 rows that repeat" in warning for warning in recording.warnings)
    assert any("2 rows left out where the clock went backward" in w for w in recording.warnings)


def test_a_single_wild_time_costs_one_row_and_not_all_that_follow(tmp_path):
    seconds = [*range(50), 999, *range(51, 100)]
    recording = recorded(tmp_path, "elapsed time (s)", seconds)
    assert recording.t_s.size == 99
    assert recording.t_s[-1] == 99


def test_rows_before_the_receiver_knew_the_date_are_left_out(tmp_path):
    early = [f"1980-01-06T00:00:{s:02d}Z" for s in range(10)]
    late = [f"2024-05-02T10:00:{s:02d}Z" for s in range(60)]
    recording = recorded(tmp_path, "date-time", [*early, *late])
    assert recording.start_utc == datetime(2024, 5, 2, 10, tzinfo=UTC)
    assert recording.t_s.size == 60


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("time [ms]", [f"{i * 200}" for i in range(50)]),
        ("elapsed (min)", [f"{i * 0.2 / 60:.6f}" for i in range(50)]),
        ("UTC time (hhmmss)", [f"1000{i * 0.2:04.1f}" for i in range(50)]),
        ("UTC time", [f"10:00:{i * 0.2:04.1f}" for i in range(50)]),
        ("unix epoch (ms)", [f"{1714644000000 + i * 200}" for i in range(50)]),
        ("Date Time", [f"2024-05-02 10:00:{i * 0.2:04.1f}" for i in range(50)]),
        ("Date Time", [f"2024-05-02T12:00:{i * 0.2:04.1f}+02:00" for i in range(50)]),
        ("seconds of day", [f"{36000 + i * 0.2:.1f}" for i in range(50)]),
    ],
)
def test_clocks_of_many_forms_run_at_five_a_second(tmp_path, heading, cells):
    recording = recorded(tmp_path, heading, cells)
    np.testing.assert_allclose(recording.t_s, np.arange(50) * 0.2, atol=1e-3)
    if recording.start_utc is not None:
        assert recording.start_utc == datetime(2024, 5, 2, 10, tzinfo=UTC)


def test_a_date_that_can_be_read_two_ways_is_not_used(tmp_path):
    cells = [f"03/04/2024,{hms(36000 + s)}" for s in range(40)]
    recording = recorded(tmp_path, "Date,UTC time", cells)
    assert recording.start_utc is None
    assert any("two ways" in warning for warning in recording.warnings)


def test_a_date_with_a_day_above_twelve_can_only_be_read_one_way(tmp_path):
    cells = [f"23/04/2024,{hms(36000 + s)}" for s in range(40)]
    recording = recorded(tmp_path, "Date,UTC time", cells)
    assert recording.start_utc == datetime(2024, 4, 23, 10, tzinfo=UTC)


def test_a_clock_that_names_no_zone_is_taken_as_utc_with_a_warning(tmp_path):
    cells = [f"2024-05-02,{hms(36000 + s)}" for s in range(40)]
    recording = recorded(tmp_path, "Date,Time", cells)
    assert recording.start_utc == datetime(2024, 5, 2, 10, tzinfo=UTC)
    assert any("UTC is assumed" in warning for warning in recording.warnings)


def test_a_clock_that_stands_still_is_refused(tmp_path):
    with pytest.raises(MalformedFileError, match="increasing"):
        recorded(tmp_path, "elapsed time (s)", [5] * 40)


def test_unreadable_times_are_refused_with_line_and_value(tmp_path):
    lines = plain_log(100).splitlines()
    for i in range(60, 70):
        lines[i] = lines[i].replace(":", "h")
    path = tmp_path / "clock.csv"
    path.write_text("\n".join(lines))
    with pytest.raises(MalformedFileError, match="line 61, column 'UTC time'"):
        read_recording(path)


def test_of_two_flights_on_two_days_in_one_file_the_longer_is_kept(tmp_path):
    first = [f"2024-05-02,{hms(43200 + s)}" for s in range(40)]
    second = [f"2024-05-03,{hms(36000 + s)}" for s in range(90)]
    recording = recorded(tmp_path, "UTC date,UTC time", [*first, *second])
    assert recording.start_utc == datetime(2024, 5, 3, 10, tzinfo=UTC)
    assert recording.t_s.tolist() == list(range(90))
    assert any("40 rows left out" in warning for warning in recording.warnings)


def test_a_date_of_another_age_is_a_fault_and_not_a_crash(tmp_path):
    cells = [f"2024-05-02T10:00:{s:02d}Z" for s in range(60)]
    cells[7] = "3024-05-02T10:00:07Z"
    recording = recorded(tmp_path, "date-time", cells)
    assert recording.t_s.size == 59
    assert recording.start_utc == datetime(2024, 5, 2, 10, tzinfo=UTC)
