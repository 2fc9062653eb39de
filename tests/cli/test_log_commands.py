"""Showing what is understood of a log, and keeping it as a mapping."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import fly, log_text


@pytest.fixture
def log(folder: Path) -> Path:
    path = folder / "flight.csv"
    path.write_text(log_text(fly(), more={"oil temp (degC)": fly().oat_degc}))
    return path


def test_columns_shows_quantity_unit_range_and_what_is_not_understood(
    program: Program, log: Path
) -> None:
    found = program.json("columns", log)
    assert found["kind"] == "delimited text"
    assert found["lacking"] == ""
    assert found["not_understood"] == ["oil temp (degC)"]
    assert (found["begins_utc"], found["interval_s"]) == ("2024-05-02T09:30:00+00:00", 1.0)
    columns = {column["quantity"]: column for column in found["columns"]}
    speed = columns["indicated_airspeed"]
    assert (speed["column"], speed["unit"], speed["unit_stated"]) == (3, "kt", True)
    assert speed["missing_percent"] == 0.0
    assert speed["lowest"] == 0.0
    assert speed["highest"] == pytest.approx(125.0)
    assert columns["date"]["lowest"] is None
    text = program.output("columns", log)
    assert text.startswith("Everything that a reduction needs is in ")
    assert "Not understood: oil temp (degC)." in text


def test_columns_tells_what_a_reduction_lacks_and_what_to_do(program: Program, log: Path) -> None:
    log.write_text(log.read_text().replace("track (deg true)", "V7"))
    text = program.output("columns", log)
    assert text.startswith("The log cannot be reduced as it is: ")
    assert "GPS ground track" in text
    assert "What to do:" in text


def test_a_saved_mapping_is_corrected_and_used_for_a_reduction(
    program: Program, log: Path, folder: Path
) -> None:
    expected = program.json("reduce", log, "--preview")
    log.write_text(log.read_text().replace("track (deg true)", "V7"))
    mapping = folder / "recorder.toml"
    result = program.run("columns", log, "--out", mapping)
    assert result.exit_code == 0
    assert "recorder.toml" in result.stderr
    text = mapping.read_text() + 'track = { column = "V7", unit = "deg" }\n'
    mapping.write_text('north = "true"\n' + text)
    columns = program.json("columns", log, "--mapping", mapping)["columns"]
    assert all(column["by_mapping"] for column in columns)
    assert "Everything" in program.output("columns", log, "--mapping", mapping)
    found = program.json("reduce", log, "--preview", "--mapping", mapping)
    assert found["runs"] == expected["runs"]


def test_a_sheet_of_legs_is_told_apart(program: Program, folder: Path) -> None:
    path = folder / "legs.csv"
    path.write_text(leg_sheet())
    assert program.json("columns", path)["kind"] == "legs written by hand"


def test_columns_refuses_what_is_no_log(program: Program, folder: Path) -> None:
    (folder / "letter.txt").write_text("Dear all,\nit was a fine day.\n")
    assert_explained(program.run("columns", folder / "letter.txt"), 34, "letter.txt")
    assert_explained(program.run("columns", folder / "nowhere.csv"), 3, "nowhere.csv")


def test_a_flight_record_has_no_mapping_to_save(program: Program, folder: Path) -> None:
    path = folder / "flight.igc"
    rows = [f"B10{i // 60:02d}{i % 60:02d}4700000N01100000EA0100001000" for i in range(120)]
    path.write_text("\n".join(["AXXXABC", "HFDTE020524", *rows]))
    found = program.json("columns", path)
    assert found["kind"] == "IGC"
    assert "airspeed" in found["lacking"] or "temperature" in found["lacking"]
    assert_explained(program.run("columns", path, "--out", folder / "m.toml"), 3, "igc")
    assert not (folder / "m.toml").exists()
