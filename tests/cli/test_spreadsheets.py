"""Tables from different people's spreadsheets give what the plain table gives."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_fleet import WING
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.cli.spreadsheets import DIALECTS, write_dialect
from tests.store_places import copy_store, held

POINTS = (
    "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt,flap_setting\n"
    "C-01,2019-07-01,600,100.5,3000,2.5,0.5,up\n"
    "C-01,2019-07-01,590,80.5,3500,-1.5,0.75,up\n"
    "C-02,2019-07-13,580,120.25,4500,0.25,0.5,up\n"
)
POINT_HEADINGS = {
    "airframe": "Tag",
    "flown_on": "Date",
    "vic_kt": "IAS",
    "pressure_altitude_ft": "Altitude",
    "dvpc_kt": "Correction",
    "u_dvpc_kt": "Uncertainty",
    "flap_setting": "Flaps",
}
# what differs between two files of the same content
OF_THE_FILE = ("sha256", "line", "source_name", "decided_at")
MEASURED = {
    "u_pace_kt": "u pace",
    "ias_kt": "Indicated airspeed",
    "oat_degc": "OAT",
    "dps_pa": "dps",
}


@pytest.fixture
def other(begun_file: str, tmp_path: Path) -> Program:
    """The program on another store of the same fleet."""
    return Program(copy_store(begun_file, tmp_path / "other.sqlite3"))


def near(value: Any) -> Any:
    """Numbers to nine digits, however deep they lie."""
    if isinstance(value, float):
        return float(f"{value:.9g}")
    if isinstance(value, dict):
        return {key: near(one) for key, one in value.items() if key not in OF_THE_FILE}
    return [near(one) for one in value] if isinstance(value, list) else value


@pytest.mark.parametrize("dialect", DIALECTS)
def test_points_of_any_spreadsheet_are_those_of_the_plain_table(
    dialect: str, program: Program, other: Program, folder: Path
) -> None:
    (folder / "plain.csv").write_text(POINTS)
    plain = program.run("points", "import", folder / "plain.csv")
    assert plain.stderr == ""
    path = write_dialect(folder / "club.csv", POINTS, dialect, POINT_HEADINGS)
    done = other.run("points", "import", path)
    assert "3 points of 2 sorties" in done.stdout
    (line,) = done.stderr.splitlines()
    assert line.startswith("club.csv (")
    assert "= vic_kt" in line
    assert near(other.json("points", "list")) == near(program.json("points", "list"))


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("technique", list(TECHNIQUE_FILES))
def test_readings_of_any_spreadsheet_give_the_same_points(
    technique: str, dialect: str, program: Program, folder: Path
) -> None:
    text = TECHNIQUE_FILES[technique].example
    (folder / "readings.csv").write_text(text)
    plain = program.json("measure", technique, folder / "readings.csv", "--preview")
    # without a unit these may be in metres or feet, pascals or feet
    doubtful = {"height_m": "Height m", "trailing_correction_pa": "trailing correction Pa"}
    everyday = MEASURED | (doubtful if dialect == "semicolons" else {})
    path = write_dialect(folder / "readings.csv", text, dialect, everyday)
    done = program.run("measure", technique, path, "--preview", "--format", "json")
    assert "readings.csv (" in done.stderr
    assert near(program.json("measure", technique, path, "--preview")) == near(plain)
    assert near(plain)["points"]


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize(
    ("kind", "text", "u", "reading"),
    [
        ("airspeed", "indicated_kt,correction_kt\n60.5,0.5\n90,0\n120,-1.5\n", "--u-kt", "IAS"),
        ("altimeter", "indicated_ft,correction_ft\n0,10\n3000,-5.5\n", "--u-ft", "Reading"),
    ],
)
def test_a_bench_card_of_any_spreadsheet_is_read(
    kind: str, text: str, u: str, reading: str, dialect: str, program: Program, folder: Path
) -> None:
    unit = u.removeprefix("--u-")
    path = write_dialect(folder / "card.csv", text, dialect, {f"indicated_{unit}": reading})
    (folder / "plain.csv").write_text(text)
    words = ("--airframe", "C-02", u, 1.0, "--date")
    program.output("bench", "enter", kind, path, *words, "2024-03-01")
    program.output("bench", "enter", kind, folder / "plain.csv", *words, "2024-03-02")
    first, second = near(program.json("show", "checks"))["checks"]
    assert {k for k in first if first[k] != second[k]} == {"number", "checked_on"}
    assert first["largest_correction"] in (-1.5, 10.0)


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_handbook_of_any_spreadsheet_is_read(
    dialect: str, program: Program, folder: Path
) -> None:
    table = write_dialect(folder / "table.csv", "ias_kt,cas_kt\n60.5,61\n80,80.25\n", dialect)
    speeds = write_dialect(folder / "s.csv", "speed,ias_kt\nstall,47.5\n", dialect)
    words = ("--name", "first", "--static-source", WING, "--speeds", speeds)
    done = program.run("handbook", "enter", table, *words)
    assert "2 lines and 1 speed, added" in done.stdout
    assert [line.split(" ")[0] for line in done.stderr.splitlines()] == ["table.csv", "s.csv"]
    (book,) = near(program.json("show", "handbooks"))["handbooks"]
    assert (book["slowest_kt"], book["fastest_kt"], book["speeds"]) == (60.5, 80.0, "stall 47.5")


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_list_of_powers_of_any_spreadsheet_is_read(
    dialect: str, program: Program, folder: Path
) -> None:
    (folder / "plain.csv").write_text(POINTS.replace("dvpc_kt,u", "dvpc_kt,u", 1))
    program.output("points", "import", folder / "plain.csv")
    text = "point,power_pct,basis\n1,65.5,Actual\n2,75,standard air\n"
    path = write_dialect(folder / "powers.csv", text, dialect, {"power_pct": "Power"})
    assert "2 runs: 2 new" in program.output("power", "--file", path)


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_list_of_flights_of_any_spreadsheet_is_read(
    dialect: str, program: Program, folder: Path
) -> None:
    logs = folder / "logs"
    logs.mkdir()
    (logs / "a.csv").write_text(leg_sheet(1))
    text = "file,airframe,weight_kg,date\na.csv,C-01,580.5,2024-05-02\n".replace("a.csv", "A_CSV")
    (logs / "a.csv").rename(logs / "A_CSV")
    everyday = {"file": "Log file", "airframe": "Registration", "date": "Flight date"}
    path = write_dialect(folder / "list.csv", text, dialect, everyday)
    done = program.run("reduce", logs, "--flights", path, "--format", "json")
    assert done.exit_code == 0, done.stderr
    assert "list.csv (" in done.stderr
    weights = {near(point["weight_kg"]) for point in program.json("points", "list")["points"]}
    assert weights == {580.5}


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_list_of_legs_of_any_spreadsheet_is_read(
    dialect: str, program: Program, folder: Path
) -> None:
    card = Card(airspeeds_kt=(80.0,), legs=4, leg_s=60)
    (folder / "log.csv").write_text(log_text(fly(card, Truth(kappa=0.03), seed=5)))
    words = ("reduce", folder / "log.csv", "--preview")
    legs = program.json(*words)["legs"]
    text = "run,start_s,stop_s\n" + "".join(f"3,{leg['start_s']},{leg['stop_s']}\n" for leg in legs)
    (folder / "plain.csv").write_text(text)
    plain = program.json(*words, "--legs", folder / "plain.csv")
    path = write_dialect(folder / "club.csv", text, dialect, {"run": "Run no.", "stop_s": "End"})
    done = program.run(*words, "--legs", path, "--format", "json")
    assert "Warning: club.csv (" in done.stderr
    found = program.json(*words, "--legs", path)
    assert near(found["runs"]) == near(plain["runs"])
    assert [run["run"] for run in found["runs"]] == [3]


BAD = {
    "": "the file is empty",
    ";;;\n;;;\n": "the file is empty",
    "Tag;Date;IAS;Correction;u;Weight;Altitude\n": "no rows",
    "Tag;Date;IAS;Colour\nC-01;2024-03-05;90;red\n": "unknown column 'Colour'",
    "Tag;Date;IAS;IAS (mph)\nC-01;2024-03-05;90;104\n": "'IAS' and 'IAS (mph)' both mean vic_kt",
    "Tag;Date;IAS (hPa)\nC-01;2024-03-05;90\n": "'IAS (hPa)' is in 'hPa', but vic_kt takes kt",
    "Tag;Date;IAS;Error\nC-01;2024-03-05;90;1\n": "unknown column 'Error'",
    "Tag;Date;IAS;CAS\nC-01;2024-03-05;90;91\n": "unknown column 'CAS'",
    "Tag;Date;IAS;U95 (kt)\nC-01;2024-03-05;90;1\n": "unknown column 'U95 (kt)'",
    "a;b;c\n1;2;3\n": "unknown column 'a'",
}
GOOD = "Tag;Date;IAS;Correction;u;Weight;Altitude"
BAD_ROWS = {
    "C-01;2024-03-05;1e308;1;1;580;3000": "line 2, column vic_kt (IAS): 1e308 is not between",
    "C-01;2024-03-05;=A1*2;1;1;580;3000": "column vic_kt (IAS): '=A1*2' is not a number",
    "=HYPERLINK(1);2024-03-05;90;1;1;580;3000": "'=HYPERLINK(1)'",
    "C-01;03/04/2024;90;1;1;580;3000": "line 2, column Date: '03/04/2024' may be 3 April 2024 or 4 "
    "March 2024",
    "C-01;45414;90;1;1;580;3000": "column flown_on (Date): '45414' is not a date",
    "C-01;2024-03-05;90;1;1;580;3,000": "'3,000' may have a decimal sign or one for thousands",
    "C-01;2024-03-05;90;1;1;580": "line 2: 6 cells, 7 headings",
    "C-01;2024-03-05;90;1;1;580;3000;7": "line 2: 8 cells, 7 headings",
    "C-01;2024-03-05;nan;1;1;580;3000": "'nan' is not a number",
}


@pytest.mark.parametrize("text", [*BAD, *(f"{GOOD}\n{row}\n" for row in BAD_ROWS)])
def test_a_spreadsheet_that_cannot_be_read_is_refused_whole(
    text: str, program: Program, folder: Path
) -> None:
    (folder / "club.csv").write_text(text)
    before = held(program.store)
    result = program.run("points", "import", folder / "club.csv")
    *understood, error, hint = result.stderr.splitlines()
    assert result.exit_code > 30
    assert error.startswith("Error: ")
    assert hint.startswith("Hint: ")
    assert len(hint) > 12
    named = BAD.get(text) or BAD_ROWS[text.split("\n")[1]]
    assert named in error
    assert all(line.startswith("club.csv (") for line in understood)
    assert held(program.store) == before


@pytest.mark.parametrize(
    ("content", "named"),
    [
        (b"PK\x03\x04" + bytes(range(256)) * 9, "cannot be unpacked"),
        (bytes(range(256)) * 40, "not"),
        (b"\xd0\xcf\x11\xe0" + b"\xff\x01" * 400, "a spreadsheet workbook"),
        (b"SQLite format 3\x00" + b"\x00" * 400, "a database"),
    ],
)
def test_a_file_that_is_no_text_is_refused(
    content: bytes, named: str, program: Program, folder: Path
) -> None:
    (folder / "club.csv").write_bytes(content)
    before = folder_content(folder)
    result = program.run("points", "import", folder / "club.csv")
    assert_explained(result, 32, "club.csv", named)
    assert "CSV" in result.stderr or "nack" in result.stderr
    assert folder_content(folder) == before


def test_the_hint_offers_the_nearest_heading(program: Program, folder: Path) -> None:
    (folder / "club.csv").write_text("Tag;Date;IAS;Corection\nC-01;2024-03-05;90;1\n")
    result = program.run("points", "import", folder / "club.csv")
    assert_explained(result, 34, "unknown column 'Corection'")
    assert "Hint: nearest is dvpc_kt; columns are airframe, flown_on, " in result.stderr


def test_day_and_month_are_as_other_rows_or_the_heading_tell(
    program: Program, folder: Path
) -> None:
    rows = "C-01;{};90;1;1;580;3000\nC-01;{};91;1;1;580;3000\n"
    first = GOOD + "\n" + rows.format("03/04/2024", "25/04/2024")
    headed = (
        GOOD.replace("Date", "Date (mm/dd/yyyy)") + "\n" + rows.format("03/04/2024", "1/2/2024")
    )
    days: set[str] = set()
    for number, text in enumerate((first, headed)):
        (folder / f"{number}.csv").write_text(text)
        done = program.run("points", "import", folder / f"{number}.csv")
        assert done.exit_code == 0, done.stderr
        assert ("dates day first" in done.stderr) == (number == 0)
        days = {point["flown_on"] for point in program.json("points", "list")["points"]} | days
    assert days == {"2024-04-03", "2024-04-25", "2024-03-04", "2024-01-02"}
    (folder / "both.csv").write_text(GOOD + "\n" + rows.format("13/04/2024", "04/25/2024"))
    refused = program.run("points", "import", folder / "both.csv")
    assert_explained(refused, 34, "13/04/2024 and 04/25/2024 have day and month in")
