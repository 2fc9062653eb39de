"""A fleet in a spreadsheet through the commands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.spreadsheets import DIALECTS, write_dialect
from tests.store_places import held, store_at

SHEET = (
    "airframe,type,from,static_source,engine,propeller,pitch,stall_speed_clean_kt,"
    "reference_weight_kg,never_exceed_kt,wing_area_m2,registration,temperature_shows,fit_note\n"
    "C-01,Corrie 2,2015-04-01,tail-boom pair,75 kW four,two-blade,fixed,44.5,600,139,10.5,,probe,\n"
    "C-01,,2022-03-13,wing boom,100 kW turbo,,,,,,,,,new engine\n"
    "C-02,Corrie 2,2016-05-13,wing boom,75 kW four,two-blade,,,,,,X-ABC,,\n"
)
TOML = """
[[type]]
name = "Corrie 2"
reference_weight_kg = 600
scaling_speed_kt = 44.5
stall_speed_clean_kt = 44.5
never_exceed_kt = 139
wing_area_m2 = 10.5
[[type.static_source]]
name = "tail-boom pair"
[[type.static_source]]
name = "wing boom"
[[engine]]
name = "75 kW four"
[[engine]]
name = "100 kW turbo"
[[propeller]]
name = "two-blade"
pitch = "fixed"
[[airframe]]
tag = "C-01"
type = "Corrie 2"
temperature_shows = "probe"
[[airframe.fit]]
from = 2015-04-01
static_source = "tail-boom pair"
engine = "75 kW four"
propeller = "two-blade"
[[airframe.fit]]
from = 2022-03-13
static_source = "wing boom"
engine = "100 kW turbo"
propeller = "two-blade"
note = "new engine"
[[airframe]]
tag = "C-02"
type = "Corrie 2"
registration = "X-ABC"
[[airframe.fit]]
from = 2016-05-13
static_source = "wing boom"
engine = "75 kW four"
propeller = "two-blade"
"""
EVERYDAY = {
    "airframe": "Tag",
    "from": "Date fitted",
    "static_source": "Static port",
    "reference_weight_kg": "MTOW",
    "stall_speed_clean_kt": "Stall speed",
    "never_exceed_kt": "Vne",
    "temperature_shows": "OAT shows",
    "wing_area_m2": "Wing area",
}


@pytest.fixture
def bare(folder: Path) -> Program:
    """The program on a store that is not there yet."""
    return Program(store_at(folder / "fleet.sqlite3"))


def load(program: Program, folder: Path, text: str) -> str:
    (folder / "fleet.csv").write_text(text, encoding="utf-8")
    return program.output("fleet", "load", folder / "fleet.csv")


def fleet_of(program: Program) -> str:
    return program.output("show", "fleet", "--out", "-")


def test_a_sheet_is_the_same_fleet_as_its_toml(bare: Program, folder: Path, tmp_path: Path) -> None:
    assert load(bare, folder, SHEET).startswith("fleet.csv: 11 added, 0 changed, 0 unchanged, in ")
    other = Program(store_at(tmp_path / "toml.sqlite3"))
    (folder / "fleet.toml").write_text(TOML)
    other.output("fleet", "load", folder / "fleet.toml")
    assert fleet_of(bare) == fleet_of(other)
    assert "0 added, 0 changed, 11 unchanged" in load(bare, folder, SHEET)


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_sheet_of_any_spreadsheet_is_the_same_fleet(
    dialect: str, bare: Program, folder: Path, tmp_path: Path
) -> None:
    path = write_dialect(folder / "club.csv", SHEET, dialect, EVERYDAY)
    done = bare.run("fleet", "load", path)
    assert done.exit_code == 0, done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("club.csv (")
    plain = Program(store_at(tmp_path / "plain.sqlite3"))
    load(plain, folder, SHEET)
    assert fleet_of(bare) == fleet_of(plain)


def test_the_template_is_a_sheet_that_loads(bare: Program, folder: Path) -> None:
    text = bare.output("fleet", "template")
    assert load(bare, folder, text).count("\n") == 1  # nothing in it is supposed
    fits = bare.json("show", "fleet")["fits"]
    shown = [(fit["airframe"], fit["from_date"], fit["engine"], fit["propeller"]) for fit in fits]
    assert shown == [
        ("C-07", "2019-05-01", "75 kW four", "two-blade fixed"),
        ("C-07", "2024-03-15", "100 kW turbo four", "two-blade fixed"),
        ("C-12", "2020-06-01", "75 kW four", "two-blade fixed"),
    ]


def test_what_a_sheet_leaves_open_is_stated(bare: Program, folder: Path) -> None:
    done = load(bare, folder, "Tag,Type,Static port\nC-01,Corrie 2,wing boom\nC-02,,\n")
    assert done.splitlines()[1:] == [
        "Corrie 2, C-02: no stall speed, so 45 kt is taken; it only scales: curves stay the same, "
        "widths of bands nearly.",
        "Corrie 2, C-02: no weight, so 600 kg is the reference weight.",
        "C-02: no type and no static source: no curve with other airframes yet.",
        "C-01, C-02: no engine and no propeller: in no pairing with others yet.",
        "C-01, C-02: no day, so what they carry holds from the start.",
    ]
    # what is given later takes the place of what was supposed, the rest stays
    load(bare, folder, "Tag,Engine,Stall speed (mph),Weight (lb)\nC-01,75 kW four,50,1300\n")
    text = fleet_of(bare)
    assert "scaling_speed_kt = 43.448" in text
    assert "reference_weight_kg = 589.67" in text
    first = bare.json("show", "fleet")["fits"][0]
    assert (first["static_source"], first["engine"]) == ("wing boom", "75 kW four")


def test_an_airframe_with_flights_is_described_by_a_later_sheet(
    bare: Program, folder: Path
) -> None:
    load(bare, folder, "Tag\nC-01\n")
    (folder / "points.csv").write_text(
        "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"
        "C-01,2024-03-05,580,90,3000,0.02,0.005\n"
    )
    bare.output("points", "import", folder / "points.csv")
    rest = "type,static port,engine,propeller,stall speed,weight"
    load(bare, folder, f"tag,{rest}\nC-01,Corrie 2,wing boom,75 kW four,two-blade,44,600\n")
    (point,) = bare.json("points", "list")["points"]
    assert (point["type"], point["static_source"]) == ("Corrie 2", "wing boom")
    assert "not described yet" not in fleet_of(bare)


HEAD = "tag,type,from,engine,weight"
BAD = {
    "": "the file is empty",
    "tag,type\n": "no rows",
    "type,engine\nCorrie 2,75 kW four\n": "no column airframe",
    "registration,type\nX-ABC,Corrie 2\n": "no column airframe",
    f"{HEAD},tag\nC-01,,,,,C-01\n": "'tag' and 'tag' both mean airframe",
    f"{HEAD},colour\nC-01,,,,,red\n": "unknown column 'colour'",
    f"{HEAD}\n,Corrie 2,,,\n": "line 2, column airframe (tag): the cell is empty",
    f"{HEAD}\nC-01,,,,1e308\n": "line 2, column reference_weight_kg (weight): 1e+308 is not above",
    f"{HEAD}\nC-01,,,,=B2\n": "column reference_weight_kg (weight): '=B2' is not a number",
    f"{HEAD}\nC-01,,,,-3\n": "-3 is not above 0",
    f"{HEAD}\nC-01,,04/05/2019,,\n": "'04/05/2019' may be 4 May 2019 or 5 April 2019",
    f"{HEAD}\nC-01,,soon,,\n": "column from: 'soon' is not a date",
    f"{HEAD}\nC-01,a,,,600\nC-02,a,,,580\n": "580.0 here, 600.0 in line 2",
    f"{HEAD}\nC-01,a,2019-05-01,,\nC-01,b,2020-05-01,,\n": "column type: b here, a in line 2",
    f"{HEAD}\nC-01,a,,,\nC-01,,,x,\n": "line 3, column from: a second row of C-01 without a day",
    f"{HEAD}\nC-01,a,2019-05-01,,\nC-01,,2019-05-01,x,\n": "C-01 has two rows from 2019-05-01",
    f"{HEAD}\nC-01,,,75 kW four,\nC-02,,,75 KW Four,\n": "'75 KW Four' is '75 kW four' of line 2",
    "tag,pitch\nC-01,coarse\n": "'coarse' is not known here",
    "tag,recovery factor\nC-01,0.8\n": "0.8 is of a probe",
    "tag,speeds are\nC-01,true\n": "'true' is not known",
    'tag,note\nC-01,"a\nb"\n': "is not a line of text",
}


@pytest.mark.parametrize("text", BAD)
def test_a_sheet_that_is_wrong_is_refused_and_no_store_begun(
    text: str, bare: Program, folder: Path
) -> None:
    (folder / "fleet.csv").write_text(text)
    before = folder_content(folder)
    result = bare.run("fleet", "load", folder / "fleet.csv")
    *understood, error, hint = result.stderr.splitlines()
    assert result.exit_code >= 3
    assert error.startswith("Error: fleet.csv")
    assert BAD[text] in error
    assert error.count("fleet.csv") == 1
    assert hint.startswith("Hint: ")
    assert all(line.startswith("fleet.csv: ") for line in understood)
    assert folder_content(folder) == before


def test_a_sheet_that_contradicts_the_store_changes_nothing(bare: Program, folder: Path) -> None:
    load(bare, folder, SHEET)
    before = held(bare.store)
    for text in ("tag,type\nC-01,corrie 2\n", "tag\nc1\n", "tag,engine\nC-09,75kW four\n"):
        (folder / "more.csv").write_text(text)
        result = bare.run("fleet", "load", folder / "more.csv")
        assert result.exit_code == 34
        assert "Error: more.csv, line 2, column " in result.stderr
        assert "Hint: write it as the store has it" in result.stderr
    assert held(bare.store) == before


def test_a_workbook_is_refused_with_what_to_do(bare: Program, folder: Path) -> None:
    import zipfile

    with zipfile.ZipFile(folder / "fleet.xlsx", "w") as book:
        book.writestr("[Content_Types].xml", "<x/>")
        book.writestr("xl/workbook.xml", "<x/>")
    result = bare.run("fleet", "load", folder / "fleet.xlsx")
    assert_explained(result, 32, "fleet.xlsx is a spreadsheet workbook")
    assert "Hint: save it as CSV, then give that file" in result.stderr
