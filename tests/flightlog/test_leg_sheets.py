from __future__ import annotations

import math

import pytest

from fleetcal.errors import MalformedFileError, MissingColumnError
from fleetcal.flightlog import (
    is_leg_sheet,
    read_leg_sheet,
    read_table,
    sheet_runs,
    understand_columns,
)
from tests.flightlog.log_writer import plain_log

KT = 1852.0 / 3600.0
HEAD = "IAS (kt),pressure altitude (ft),OAT (degC),ground speed (kt),track (deg mag)"
LEGS = ["90,4000,12,101,45", "90.5,4010,12,92,165", "89,3990,12,88,285"]
FASTER = ["110,4000,12,121,45", "110,4010,12,112,165", "111,3990,12,108,285"]


def sheet(tmp_path, *lines, heading=HEAD):
    path = tmp_path / "legs.csv"
    path.write_text("\n".join([heading, *lines]) + "\n")
    return path


def is_sheet(path):
    table = read_table(path)
    return is_leg_sheet(table, understand_columns(table))


def test_a_short_table_without_a_clock_is_a_sheet_and_a_log_is_not(tmp_path):
    assert is_sheet(sheet(tmp_path, *LEGS))
    log = tmp_path / "log.csv"
    log.write_text(plain_log(50))
    assert not is_sheet(log)
    log.write_text(plain_log(500))
    assert not is_sheet(log)


def test_a_sheet_with_a_time_for_each_leg_is_still_a_sheet(tmp_path):
    rows = [f"10:0{2 * i},{row}" for i, row in enumerate(LEGS)]
    path = sheet(tmp_path, *rows, heading=f"time,{HEAD}")
    assert is_sheet(path)
    assert [leg.time_s for leg in read_leg_sheet(path).legs] == [0.0, 120.0, 240.0]


def test_a_long_table_without_a_clock_is_no_sheet(tmp_path):
    path = sheet(tmp_path, *(LEGS * 30))
    assert not is_sheet(path)
    with pytest.raises(MalformedFileError, match="90 rows"):
        read_leg_sheet(path)


def test_readings_become_si_and_written_decimals_the_resolution(tmp_path):
    read = read_leg_sheet(sheet(tmp_path, *LEGS))
    second = read.legs[1]
    assert second.airspeed_mps == pytest.approx(90.5 * KT)
    assert second.pressure_altitude_m == pytest.approx(4010 * 0.3048)
    assert second.temperature_k == pytest.approx(285.15)
    assert second.ground_speed_mps == pytest.approx(92 * KT)
    assert second.track_rad == pytest.approx(math.radians(165))
    assert (second.line, second.run, second.time_s, second.flap_setting) == (3, None, None, None)
    assert read.resolution["indicated_airspeed"] == pytest.approx(0.1 * KT)
    assert read.resolution["ground_speed"] == pytest.approx(1.0 * KT)
    assert read.track_reference == "magnetic"


def test_the_run_column_groups_the_legs(tmp_path):
    rows = [f"{run},{row}" for run, row in zip("ABABAB", LEGS + LEGS, strict=True)]
    path = sheet(tmp_path, *rows, heading=f"run,{HEAD}")
    assert [plan.legs for plan in sheet_runs(read_leg_sheet(path))] == [(0, 2, 4), (1, 3, 5)]


def test_without_a_run_column_speed_groups_the_legs(tmp_path):
    plans = sheet_runs(read_leg_sheet(sheet(tmp_path, *LEGS, *FASTER)))
    assert [(plan.legs, plan.refusal) for plan in plans] == [((0, 1, 2), None), ((3, 4, 5), None)]


def test_legs_with_different_flaps_are_never_in_one_run(tmp_path):
    rows = [f"{row},{flap}" for row, flap in zip(LEGS + LEGS, ["up", "down"] * 3, strict=True)]
    read = read_leg_sheet(sheet(tmp_path, *rows, heading=f"{HEAD},flaps"))
    assert [leg.flap_setting for leg in read.legs[:2]] == ["up", "down"]
    assert [plan.legs for plan in sheet_runs(read)] == [(0, 2, 4), (1, 3, 5)]


def test_a_run_of_the_sheet_that_cannot_be_solved_is_refused(tmp_path):
    path = sheet(tmp_path, *(f"A,{row}" for row in LEGS[:2]), heading=f"run,{HEAD}")
    (plan,) = sheet_runs(read_leg_sheet(path))
    assert "only 2 legs" in str(plan.refusal)


@pytest.mark.parametrize("cell", ["", "fast", "9999"])
def test_every_cell_of_a_sheet_counts(tmp_path, cell):
    with pytest.raises(MalformedFileError) as caught:
        read_leg_sheet(sheet(tmp_path, *LEGS, f"{cell},4000,12,101,45"))
    for part in ("legs.csv", "line 5", "IAS (kt)"):
        assert part in caught.value.message


def test_a_sheet_without_temperature_is_refused(tmp_path):
    with pytest.raises(MissingColumnError, match="temperature"):
        read_leg_sheet(sheet(tmp_path, *LEGS, heading=HEAD.replace("OAT", "water")))


def test_true_airspeed_alone_makes_no_sheet(tmp_path):
    with pytest.raises(MissingColumnError, match="indicated airspeed"):
        read_leg_sheet(sheet(tmp_path, *LEGS, heading=HEAD.replace("IAS", "TAS")))


@pytest.mark.parametrize("word", ["true", "False", "TRUE"])
@pytest.mark.parametrize("end", ["", "\n"])
def test_a_yes_or_no_is_no_number_on_the_last_line_either(tmp_path, word, end):
    path = sheet(tmp_path, *LEGS, f"89,3990,{word},88,285")
    path.write_text(path.read_text().rstrip("\n") + end)
    with pytest.raises(MalformedFileError, match=rf"line 5, column 'OAT \(degC\)': '{word}'"):
        read_leg_sheet(path)
