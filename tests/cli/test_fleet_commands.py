"""The fleet description through the commands: load, show, write, and back."""

from __future__ import annotations

import csv
import io
import tomllib
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_fleet import fleet_toml
from tests.store_places import store_at

WHOLE = """
[[type]]
name = "Corrie 2"
reference_weight_kg = 600
scaling_speed_kt = 45.0
wing_area_m2 = 10.5
never_exceed_kt = 141.0
note = "invented \\u2013 not a real type"
[[type.static_source]]
name = "wing boom"
description = "probe ahead of the left wing"
[[type.static_source]]
name = "tail-boom flush pair"
[[type]]
name = "Corrie 3"
reference_weight_kg = 750.0
scaling_speed_kt = 48.5
[[engine]]
name = "75 kW four"
[[engine]]
name = "100 kW turbo four"
[[propeller]]
name = "two-blade fixed"
[[airframe]]
tag = "C-01"
type = "Corrie 2"
registration = "X-ABC"
note = "invented"
[[airframe.fit]]
from = 2015-04-01
static_source = "tail-boom flush pair"
engine = "75 kW four"
propeller = "two-blade fixed"
[[airframe.fit]]
from = 2022-03-01
static_source = "wing boom"
engine = "100 kW turbo four"
propeller = "two-blade fixed"
pitot = "nose boom, shielded"
note = 'with "new" engine'
[[airframe]]
tag = "C-02"
type = "Corrie 3"
[[handbook]]
type = "Corrie 2"
static_source = "wing boom"
flap_setting = "up"
name = "first edition"
weight_kg = 600.0
rows = [[60, 61.5], [80.0, 81.0]]
"""


@pytest.fixture
def empty(folder: Path) -> Program:
    """The program before there is any store."""
    return Program(store_at(folder / "store.sqlite3"))


def load(program: Program, folder: Path, text: str) -> str:
    (folder / "fleet.toml").write_text(text, encoding="utf-8")
    return program.output("fleet", "load", folder / "fleet.toml")


def test_loading_counts_what_it_did_and_a_second_time_changes_nothing(
    empty: Program, folder: Path
) -> None:
    assert "12 added, 0 changed, 0 unchanged" in load(empty, folder, WHOLE)
    before = folder_content(folder)
    assert "0 added, 0 changed, 12 unchanged" in load(empty, folder, WHOLE)
    assert folder_content(folder) == before


def test_what_is_written_is_what_was_loaded_and_loading_it_changes_nothing(
    empty: Program, folder: Path
) -> None:
    load(empty, folder, WHOLE)
    written = empty.output("show", "fleet", "--out", "-")
    read, meant = tomllib.loads(written), tomllib.loads(WHOLE)
    for table in ("type", "engine", "propeller", "airframe", "handbook"):
        by_name = [
            sorted(rows[table], key=lambda row: str(row.get("name", row.get("tag"))))
            for rows in (read, meant)
        ]
        for found, wanted in zip(*by_name, strict=True):
            found.setdefault("static_source", []), wanted.setdefault("static_source", [])
            if table == "type":
                for row in (found, wanted):
                    row["static_source"].sort(key=lambda source: source["name"])
            found.setdefault("fit", []), wanted.setdefault("fit", [])
            assert found == wanted
    before = folder_content(folder)
    assert "0 added, 0 changed, 12 unchanged" in load(empty, folder, written)
    assert empty.output("show", "fleet", "--out", "-") == written
    (folder / "fleet.toml").write_text(WHOLE, encoding="utf-8")
    assert folder_content(folder) == before


def test_a_copy_of_the_store_made_from_the_written_file_writes_the_same(
    empty: Program, folder: Path
) -> None:
    load(empty, folder, WHOLE)
    target = folder / "copy.toml"
    assert empty.output("show", "fleet", "--out", target) == ""
    other = Program(store_at(folder / "other.sqlite3"))
    other.output("fleet", "load", target)
    assert other.output("show", "fleet", "--out", "-") == target.read_text(encoding="utf-8")


def test_a_changed_description_changes_that_and_removes_nothing(
    empty: Program, folder: Path
) -> None:
    load(empty, folder, WHOLE)
    changed = WHOLE.replace("never_exceed_kt = 141.0", "never_exceed_kt = 139.0")
    assert "0 added, 1 changed, 11 unchanged" in load(empty, folder, changed)
    only = '[[engine]]\nname = "90 kW four"\n'
    assert "1 added, 0 changed, 0 unchanged" in load(empty, folder, only)
    names = {
        row["name"] for row in tomllib.loads(empty.output("show", "fleet", "--out", "-"))["engine"]
    }
    assert names == {"75 kW four", "90 kW four", "100 kW turbo four"}


def test_a_description_may_add_to_what_the_store_has(empty: Program, folder: Path) -> None:
    load(empty, folder, WHOLE)
    more = '[[airframe]]\ntag = "C-03"\ntype = "Corrie 2"\n'
    assert "1 added" in load(empty, folder, more)


def test_a_fit_that_was_flown_may_not_change(program: Program, folder: Path) -> None:
    (folder / "points.csv").write_text(
        "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"
        "C-01,2024-03-05,600,80,3000,0.01,0.005\n"
    )
    program.output("points", "import", folder / "points.csv")
    written = program.output("show", "fleet", "--out", "-")
    first = written.index('"C-01"')
    changed = written[:first] + written[first:].replace("tail-boom flush pair", "wing boom", 1)
    (folder / "fleet.toml").write_text(changed)
    before = folder_content(folder)
    result = program.run("fleet", "load", folder / "fleet.toml")
    assert_explained(result, 3, "fleet.toml", "C-01", "2015-04-01")
    assert folder_content(folder) == before


def test_the_fleet_is_shown_as_table_csv_and_json(empty: Program, folder: Path) -> None:
    load(empty, folder, WHOLE)
    found = empty.json("show", "fleet")
    assert (found["kind"], found["format_version"]) == ("fleet", 1)
    assert found["types"] == ["Corrie 2", "Corrie 3"]
    assert [(fit["airframe"], fit["from_date"]) for fit in found["fits"]] == [
        ("C-01", "2015-04-01"),
        ("C-01", "2022-03-01"),
        ("C-02", None),
    ]
    rows = list(csv.DictReader(io.StringIO(empty.output("show", "fleet", "--format", "csv"))))
    assert [row["static_source"] for row in rows] == ["tail-boom flush pair", "wing boom", ""]
    table = empty.output("show", "fleet")
    assert "of type Corrie 2 and Corrie 3." in table
    assert "2022-03-01" in table


def replaced(old: str, new: str) -> str:
    assert old in WHOLE
    return WHOLE.replace(old, new, 1)


WRONG = {
    "not TOML": ("[[type]\n", 34, "line 1"),
    "unknown table": (WHOLE + "[[wing]]\nname = 'x'\n", 34, "unknown table 'wing'"),
    "not a list of tables": ("[engine]\nname = 'x'\n", 34, "'engine'"),
    "unknown key of a type": (
        replaced("wing_area_m2", "wing_area_ft2"),
        34,
        "type 1: unknown key 'wing_area_ft2'",
    ),
    "unknown key of a source": (
        replaced("description =", "colour ="),
        34,
        "type 1, static_source 1: unknown key 'colour'",
    ),
    "unknown key of an engine": (
        replaced('name = "75 kW four"', 'name = "75 kW four"\npower_kw = 75'),
        34,
        "engine 1",
    ),
    "unknown key of an airframe": (
        replaced("registration", "reg"),
        34,
        "airframe 1: unknown key 'reg'",
    ),
    "unknown key of a fit": (
        replaced("from = 2022", "from_date = 2022"),
        34,
        "airframe 1, fit 2: unknown key 'from_date'",
    ),
    "unknown key of a handbook": (
        replaced("rows =", "lines ="),
        34,
        "handbook 1: unknown key 'lines'",
    ),
    "missing in a type": (
        replaced("scaling_speed_kt = 45.0\n", ""),
        34,
        "type 1: 'scaling_speed_kt' is missing",
    ),
    "missing in a source": (
        replaced('[[type.static_source]]\nname = "tail-boom flush pair"', "[[type.static_source]]"),
        34,
        "type 1, static_source 2: 'name' is missing",
    ),
    "missing in an airframe": (
        replaced('tag = "C-02"\n', ""),
        34,
        "airframe 2: 'tag' is missing",
    ),
    "missing in a fit": (
        replaced("from = 2015-04-01\n", ""),
        34,
        "airframe 1, fit 1: 'from' is missing",
    ),
    "missing in a handbook": (
        replaced('name = "first edition"\n', ""),
        34,
        "handbook 1: 'name' is missing",
    ),
    "blank": (replaced('tag = "C-02"', 'tag = " "'), 34, "airframe 2: 'tag' is blank"),
    "text for a number": (
        replaced("= 45.0", '= "45"'),
        34,
        "type 1: scaling_speed_kt: '45' is not a number",
    ),
    "true for a number": (replaced("= 45.0", "= true"), 34, "type 1: scaling_speed_kt: True"),
    "number for text": (replaced('type = "Corrie 3"', "type = 3"), 34, "airframe 2: type: 3"),
    "text for a date": (
        replaced("from = 2015-04-01", 'from = "2015-04-01"'),
        34,
        "airframe 1, fit 1: from: '2015-04-01' is not a date",
    ),
    "time for a date": (
        replaced("from = 2015-04-01", "from = 2015-04-01T10:00:00"),
        34,
        "airframe 1, fit 1: from: 2015-04-01 10:00:00 is not a date",
    ),
    "negative weight": (replaced("= 600\n", "= -600\n"), 34, "type 1: reference_weight_kg: -600"),
    "not a number": (replaced("= 45.0", "= nan"), 34, "type 1: scaling_speed_kt: nan"),
    "endless number": (
        replaced("= 45.0", "= 1" + "0" * 400),
        34,
        "type 1: scaling_speed_kt",
    ),
    "line end in a name": (
        replaced('name = "75 kW four"', 'name = "75\\nkW"'),
        34,
        "engine 1",
    ),
    "handbook of single numbers": (
        replaced("[[60, 61.5], [80.0, 81.0]]", "[60, 61.5]"),
        34,
        "handbook 1: rows",
    ),
    "handbook with text": (replaced("[60, 61.5]", '[60, "61"]'), 34, "handbook 1: rows: '61'"),
    "unknown type": (replaced('type = "Corrie 3"', 'type = "Corrie 4"'), 35, "'Corrie 4'"),
    "unknown source": (
        replaced('static_source = "wing boom"\nengine', 'static_source = "wing bom"\nengine'),
        35,
        "'wing bom'",
    ),
    "twice the same engine": (WHOLE + '[[engine]]\nname = "75 kW four"\n', 3, "75 kW four"),
    "twice the same speed": (replaced("[80.0, 81.0]", "[60.0, 81.0]"), 3, "60"),
    "empty": ("", 31, "empty"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_description_names_the_place_and_begins_no_store(
    case: str, empty: Program, folder: Path
) -> None:
    text, exit_code, named = WRONG[case]
    (folder / "fleet.toml").write_text(text, encoding="utf-8")
    before = folder_content(folder)
    result = empty.run("fleet", "load", folder / "fleet.toml")
    assert_explained(result, exit_code, "fleet.toml", named)
    assert folder_content(folder) == before


@pytest.mark.parametrize("case", ["unknown type", "unknown key of a fit"])
def test_a_wrong_description_changes_nothing_in_a_store(
    case: str, program: Program, folder: Path
) -> None:
    text, exit_code, named = WRONG[case]
    (folder / "fleet.toml").write_text(text, encoding="utf-8")
    before = folder_content(folder)
    result = program.run("fleet", "load", folder / "fleet.toml")
    assert_explained(result, exit_code, "fleet.toml", named)
    assert folder_content(folder) == before


def test_a_description_in_another_encoding_is_refused(empty: Program, folder: Path) -> None:
    (folder / "fleet.toml").write_bytes('[[engine]]\nname = "Flügel"\n'.encode("latin-1"))
    result = empty.run("fleet", "load", folder / "fleet.toml")
    assert_explained(result, 32, "fleet.toml", "UTF-8")


def test_the_usual_place_is_used_without_an_option(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from click.testing import CliRunner

    from fleetcal.cli import main

    (folder / "fleet.toml").write_text(fleet_toml())
    place = store_at(folder / "named by the environment.sqlite3")
    monkeypatch.setenv("FLEETCAL_STORE", place)
    result = CliRunner().invoke(main, ["fleet", "load", str(folder / "fleet.toml")])
    assert result.exit_code == 0, result.stderr
    assert Program(place).json("show", "fleet")["fits"]
