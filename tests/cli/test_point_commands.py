"""Points through the commands: listed, rejected, taken back, carried to another store."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_fleet import MID, TAIL, WING
from tests.cli.invented_sortie import Truth, fly, log_text
from tests.store_places import copy_store, held

HEADINGS = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"


@pytest.fixture
def fresh(begun_file: str, tmp_path: Path) -> Program:
    """The program on another store with the same fleet."""
    return Program(copy_store(begun_file, tmp_path / "fresh.sqlite3"))


@pytest.mark.parametrize(
    ("options", "count"),
    [
        ((), 210),
        (("--airframe", "C-02"), 10),
        (("--static-source", WING), 100),
        (("--static-source", MID), 30),
        (("--flap-setting", "up"), 210),
        (("--flap-setting", "20"), 0),
        (("--flown", "2024-03-05.."), 210),
        (("--flown", "2024-03-06.."), 0),
        (("--flown", "..2024-03-05"), 210),
        (("--flown", "..2024-03-04"), 0),
        (("--accepted",), 210),
        (("--rejected",), 0),
        (("--airframe", "C-02", "--static-source", WING), 0),
    ],
)
def test_a_list_can_be_narrowed(options: tuple[str, ...], count: int, flown: Program) -> None:
    found = flown.json("points", "list", *options)
    assert (found["kind"], found["format_version"]) == ("points", 1)
    assert len(found["points"]) == count


@pytest.mark.long
def test_rejected_points_keep_the_reason_and_leave_the_curve(flown: Program) -> None:
    before = flown.json("curve", TAIL, "--with", "C-03")
    ids = [p["point_id"] for p in flown.json("points", "list", "--airframe", "C-03")["points"]]
    told = flown.output("points", "reject", *ids, "--reason", "static line found loose")
    assert told == "10 points rejected: static line found loose.\n"
    rejected = flown.json("points", "list", "--rejected")["points"]
    assert [p["point_id"] for p in rejected] == ids
    assert {p["reason"] for p in rejected} == {"static line found loose"}
    assert len(flown.json("points", "list", "--accepted")["points"]) == 200
    after = flown.json("curve", TAIL)
    assert (before["airframes"], after["airframes"]) == (8, 7)
    # C-14, of the other static source, stands outside and is not used for the spread
    others = [said for said in after["left_out"] if "C-14, which stands outside" not in said]
    assert others == ["10 points of C-03: static line found loose."]
    assert "static line found loose" in flown.output("curve", TAIL)
    assert flown.output("points", "accept", *ids) == "10 points accepted.\n"
    assert flown.json("curve", TAIL, "--with", "C-03") == before
    assert flown.json("points", "list", "--rejected")["points"] == []


def test_one_unknown_point_keeps_all_as_they_were(flown: Program, folder: Path) -> None:
    before = folder_content(folder)
    result = flown.run("points", "reject", 1, 2, 9999, "--reason", "x")
    assert_explained(result, 35, "9999")
    assert folder_content(folder) == before


@pytest.mark.long
def test_exported_points_give_the_same_curve_in_another_store(
    flown: Program, fresh: Program, folder: Path
) -> None:
    # Each of these points has one shared term, which is all that the file can carry.
    target = folder / "points.csv"
    flown.output("points", "list", "--out", target)
    assert "210 points of 42 sorties" in fresh.output("points", "import", target)
    for group in (TAIL, f"{WING} / 75 kW four / two-blade fixed"):
        mine, theirs = flown.json("curve", group), fresh.json("curve", group)
        assert len(mine["rows"]) == len(theirs["rows"])
        for one, other in zip(mine["rows"], theirs["rows"], strict=True):
            assert one.keys() == other.keys()
            for name, value in one.items():
                # What is carried is exact; the fit's own search ends where it began.
                expected = value if not isinstance(value, float) else pytest.approx(value, abs=1e-9)
                assert other[name] == expected


def test_exporting_what_was_imported_writes_the_same_file(
    flown: Program, fresh: Program, folder: Path
) -> None:
    flown.output("points", "reject", 5, "--reason", 'he said, "loose; really"')
    target = folder / "points.csv"
    flown.output("points", "list", "--out", target)
    fresh.output("points", "import", target)
    assert fresh.output("points", "list", "--out", "-") == target.read_text(encoding="utf-8")
    assert "he said" in target.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("shows", "counts"),
    # indicator, altimeter and thermometer; the recovery factor is the airframe's where it is known
    [("probe", {"airframe": 4}), ("unknown", {"airframe": 3, "fleet": 1})],
)
def test_what_an_export_of_reduced_points_keeps_and_what_it_merges(
    program: Program, fresh: Program, folder: Path, shows: str, counts: dict[str, int]
) -> None:
    log = folder / "flight.csv"
    log.write_text(log_text(fly(truth=Truth(roughness=1.0))))
    program.output("fleet", "temperature", "C-01", "--shows", shows)
    program.output("reduce", log, "--airframe", "C-01", "--weight-kg", 580)
    program.output("points", "list", "--out", folder / "points.csv")
    fresh.output("points", "import", folder / "points.csv")
    mine = program.json("points", "list")["points"]
    theirs = fresh.json("points", "list")["points"]
    # Not kept: the legs, the file they came from, when it was decided, the budget line by line.
    own = {"terms", "source_name", "decided_at", "point_id", "sortie_id", "track_reference"}
    for one, other in zip(mine, theirs, strict=True):
        for name in one.keys() - own:
            value = one[name]
            near = pytest.approx(value, rel=1e-12) if isinstance(value, float) else value
            assert other[name] == near, name
        for owner, count in counts.items():
            owned = [term["u_kappa"] for term in one["terms"] if term["owner"] == owner]
            assert len(owned) == count
            (together,) = [term for term in other["terms"] if term["owner"] == owner]
            assert together["u_kappa"] ** 2 == pytest.approx(sum(u**2 for u in owned), rel=1e-9)
        whole = sum(term["u_kappa"] ** 2 for term in other["terms"])
        assert whole == pytest.approx(one["u_kappa"] ** 2, rel=1e-9)


def test_importing_the_same_file_twice_adds_nothing_and_says_so(
    flown: Program, fresh: Program, folder: Path
) -> None:
    flown.output("points", "list", "--out", folder / "points.csv")
    fresh.output("points", "import", folder / "points.csv")
    before = held(fresh.store)
    (folder / "points.csv").rename(folder / "again.csv")
    told = fresh.output("points", "import", folder / "again.csv")
    assert "the same content is in the store already; nothing was added" in told
    assert held(fresh.store) == before


def test_points_that_the_store_has_are_not_counted_twice(flown: Program, folder: Path) -> None:
    flown.output("points", "list", "--out", folder / "own.csv", "--airframe", "C-02")
    before = held(flown.store)
    result = flown.run("points", "import", folder / "own.csv")
    assert_explained(result, 34, "own.csv, line 2", "as point 11")
    assert held(flown.store) == before


def test_older_results_may_come_as_speed_corrections(program: Program, folder: Path) -> None:
    (folder / "old.csv").write_text(
        "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt,technique\n"
        "C-01,2019-07-01,600,100,3000,2.0,0.5,pace aircraft\n"
    )
    program.output("points", "import", folder / "old.csv")
    (point,) = program.json("points", "list")["points"]
    assert point["dvpc_kt"] == pytest.approx(2.0, abs=1e-9)
    assert point["u_dvpc_kt"] == pytest.approx(0.5, abs=1e-9)
    # qc goes nearly with the square of the speed: 1.02^2 - 1.
    assert point["kappa"] == pytest.approx(0.0404, abs=3e-4)
    assert point["u_kappa"] == pytest.approx(0.5 / 50.0 * 1.02, rel=0.01)
    assert point["technique"] == "pace aircraft"


def test_a_file_from_a_spreadsheet_is_read(program: Program, folder: Path) -> None:
    text = f"\ufeff{HEADINGS},reason\r\nC-01,2019-07-01,600,80,3000,0.02,0.005,\r\n,,,,,,,\r\n"
    (folder / "old.csv").write_bytes(text.encode())
    assert "1 point of 1 sortie" in program.output("points", "import", folder / "old.csv")


def test_the_exported_text_is_csv_with_one_row_a_point(flown: Program) -> None:
    rows = list(csv.DictReader(io.StringIO(flown.output("points", "list", "--out", "-"))))
    assert len(rows) == 210
    assert {row["technique"] for row in rows} == {"earlier result"}
    listed = flown.json("points", "list")["points"]
    assert [float(row["kappa"]) for row in rows] == [point["kappa"] for point in listed]


def test_a_cell_that_a_spreadsheet_would_run_is_made_harmless_in_a_list(flown: Program) -> None:
    flown.output("points", "reject", 1, "--reason", "=HYPERLINK(1)")
    listed = flown.output("points", "list", "--rejected", "--format", "csv")
    (row,) = csv.DictReader(io.StringIO(listed))
    assert row["reason"] == "'=HYPERLINK(1)"


def row(**cells: str) -> str:
    whole = {
        "airframe": "C-02",
        "flown_on": "2024-03-06",
        "weight_kg": "600",
        "vic_kt": "80",
        "pressure_altitude_ft": "3000",
        "kappa": "0.02",
        "u_kappa": "0.005",
    }
    return ",".join((whole | cells).values())


WRONG_CELLS = [
    ("airframe", "C-77", 35, "line 3: "),
    ("airframe", "", 35, "line 3: "),
    ("flown_on", "31.2.2024", 34, "line 3, column flown_on: '31.2.2024'"),
    ("flown_on", "2001-01-01", 3, "line 3: "),
    ("weight_kg", "", 34, "line 3, column weight_kg: the cell is empty"),
    ("weight_kg", "-600", 34, "line 3, column weight_kg: -600 is not above zero"),
    ("vic_kt", "0", 34, "line 3, column vic_kt: 0 is not above zero"),
    ("vic_kt", "8000", 34, "line 3, column vic_kt: 8000"),
    ("vic_kt", "80 kt", 34, "line 3, column vic_kt: '80 kt' is not a number"),
    ("vic_kt", "8_0", 34, "line 3, column vic_kt: '8_0' is not a number"),
    ("pressure_altitude_ft", "900000", 34, "line 3, column pressure_altitude_ft: 900000"),
    ("kappa", "2.0", 34, "line 3, column kappa: 2.0 is not between -0.6 and 1.5"),
    ("kappa", "nan", 34, "line 3, column kappa: 'nan' is not a number"),
    ("u_kappa", "0", 34, "line 3, column u_kappa: 0 is not above zero"),
    ("u_kappa", "inf", 34, "line 3, column u_kappa: 'inf' is not a number"),
    ("u_shared_kappa", "0.006", 34, "line 3, column u_shared_kappa: 0.006 is not below u_kappa"),
    ("u_shared_kappa", "-1", 34, "line 3, column u_shared_kappa: -1"),
    ("accepted", "perhaps", 34, "line 3, column accepted: 'perhaps'"),
    ("accepted", "no", 34, "line 3, column reason: "),
    ("technique", "guess", 34, "line 3, column technique: 'guess'"),
    ("leg_count", "3.5", 34, "line 3, column leg_count: 3.5 is not a whole number"),
    ("leg_count", "0", 34, "line 3, column leg_count: 0 is not above zero"),
    ("tas_kt", "-1", 34, "line 3, column tas_kt: -1 is not above zero"),
    ("oat_degc", "283", 34, "line 3, column oat_degc: 283 is not between -100 and 100"),
    ("wind_speed_kt", "-1", 34, "line 3, column wind_speed_kt: -1"),
    ("wind_from_deg", "361", 34, "line 3, column wind_from_deg: 361 is not between 0 and 360"),
    ("largest_gap_deg", "999", 34, "line 3, column largest_gap_deg: 999"),
    ("residual_kt", "-1", 34, "line 3, column residual_kt: -1 is not at least 0"),
    ("duration_s", "-1", 34, "line 3, column duration_s: -1"),
    ("degrees_of_freedom", "0", 34, "line 3, column degrees_of_freedom: 0"),
]


@pytest.mark.parametrize(("column", "cell", "exit_code", "named"), WRONG_CELLS)
def test_a_wrong_cell_is_named_by_line_and_column(
    column: str, cell: str, exit_code: int, named: str, program: Program, folder: Path
) -> None:
    more = "" if column in HEADINGS.split(",") else f",{column}"
    good = row(airframe="C-01") + ("," if more else "")
    target = folder / "p.csv"
    target.write_text(f"{HEADINGS}{more}\n{good}\n{row(**{column: cell})}\n")
    before = folder_content(folder)
    assert_explained(program.run("points", "import", target), exit_code, f"p.csv, {named}")
    assert folder_content(folder) == before


@pytest.mark.parametrize(
    ("text", "exit_code", "named"),
    [
        ("", 31, "empty"),
        (f"{HEADINGS}\n", 31, "no rows"),
        ("airframe,flown_on\nC-01,2024-03-05\n", 33, "weight_kg; vic_kt; pressure_altitude_ft"),
        (f"{HEADINGS},colour\n{row()},red\n", 34, "'colour'"),
        (f"{HEADINGS},kappa\n{row()},1\n", 34, "'kappa'"),
        (f"{HEADINGS}\n{row()},1\n", 34, "line 2: 8 cells"),
        ("\0\0\n", 32, "text"),
    ],
)
def test_a_file_that_is_no_table_of_points_is_refused(
    text: str, exit_code: int, named: str, program: Program, folder: Path
) -> None:
    (folder / "p.csv").write_text(text)
    before = folder_content(folder)
    result = program.run("points", "import", folder / "p.csv")
    assert_explained(result, exit_code, "p.csv", named)
    assert folder_content(folder) == before
