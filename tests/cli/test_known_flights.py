"""A flight that is stored already: what is asked otherwise is said, a wrong airframe is mended."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_sortie import HEADINGS
from tests.store_places import opened, store_at

WHO = ("--airframe", "C-01", "--weight-kg", "560")


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "the flight.csv"
    path.write_text(rough_log)
    return path


def asked(program: Program, *words: object) -> list[tuple[str, str, str]]:
    found = program.json("reduce", *words)
    assert (found["stored"], found["known_already"]) == (False, True)
    return [(o["option"], o["stored"], o["given"]) for o in found["asked_otherwise"]]


@pytest.mark.long
def test_another_weight_is_said_and_the_command_printed_stores_it(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    before = folder_content(folder)
    done = program.run("reduce", log, "--airframe", "C-01", "--weight-kg", "600")
    assert done.exit_code == 0
    assert "the flight.csv: is stored with another --weight-kg" in done.stderr
    assert "What is stored differs from what you ask now:" in done.stdout
    assert "--weight-kg  560 kg  600 kg" in done.stdout
    assert folder_content(folder) == before
    (line,) = (line for line in done.stdout.splitlines() if line.startswith("To store it"))
    words = shlex.split(line.split(": ", 1)[1])
    assert words[:3] == ["fleetcal", "--store", program.store]
    assert words[3:] == [*("reduce", str(log), "--again"), *("--weight-kg", "600"), "--replace"]
    program.output(*words[3:])
    assert {p["weight_kg"] for p in program.json("points", "list")["points"]} == {600.0}
    assert asked(program, log, "--airframe", "C-01", "--weight-kg", "600") == []


@pytest.mark.long
def test_every_option_that_differs_is_said_and_none_that_does_not(
    program: Program, log: Path, folder: Path
) -> None:
    (folder / "warm.toml").write_text("[uncertainty]\nu_temperature_k = 3.0\n")
    stored = ("--drop", "2:3", "--flap-setting", "15", "--note", "calm", "--date", "2024-05-09")
    program.output("reduce", log, *WHO, *stored)
    assert asked(program, log, "--airframe", "C-01") == []
    assert asked(program, log, *WHO, *stored, "--solve-by", "legs") == []
    assert asked(program, log, *WHO, "--settings", folder / "warm.toml") == [
        ("--settings: uncertainty.u_temperature_k", "1", "3")
    ]
    given = ("--drop", "1:2", "--flap-setting", "up", "--note", "rough", "--date", "2024-05-08")
    weight = ("--takeoff-weight-kg", "590", "--fuel-used-kg-per-h", "14")
    assert asked(program, log, "--airframe", "C-01", *weight, *given) == [
        ("--takeoff-weight-kg", "560 kg", "590 kg at take-off, 14 kg/h"),
        ("--date", "2024-05-09", "2024-05-08"),
        ("--flap-setting", "15", "up"),
        ("--drop, --keep, --legs", "--drop 2:3", "--drop 1:2"),
        ("--note", "calm", "rough"),
    ]
    assert asked(program, log, "--airframe", "C-01", "--humidity-pct", "60") == [
        ("--humidity-pct", "none", "60")
    ]
    assert asked(program, log, "--airframe", "C-01", "--solve-by", "manoeuvres") == [
        ("--solve-by", "legs", "manoeuvres")
    ]
    text = program.run("reduce", log, *WHO, "--note", "rough").stdout
    assert "A stored note is not changed." in text
    assert "--again" not in text


@pytest.mark.long
def test_a_mapping_a_list_of_legs_and_a_declination_are_compared(
    program: Program, folder: Path, rough_log: str
) -> None:
    log, mapping, legs = folder / "odd.csv", folder / "map.toml", folder / "legs.csv"
    log.write_text(rough_log.replace(HEADINGS[0], "V7", 1).replace("deg true", "deg magnetic"))
    mapping.write_text('indicated_airspeed = { column = "V7", unit = "kt" }\n')
    words = (log, *WHO, "--mapping", mapping, "--declination-deg", "2")
    listed = program.output("reduce", *words, "--preview", "--format", "csv", "--rows", "legs")
    legs.write_text(listed)
    program.output("reduce", *words, "--legs", legs)
    assert asked(program, *words, "--legs", legs) == []
    mapping.write_text(mapping.read_text() + "# checked\n")
    legs.write_text("\n".join(listed.splitlines()[:-4]) + "\n")
    found = asked(program, *words[:-1], "3", "--legs", legs)
    assert found == [
        ("--declination-deg", "2", "3"),
        ("--mapping", "map.toml", "map.toml, whose contents have changed"),
        ("--drop, --keep, --legs", "--legs legs.csv", f"--legs {legs}"),
    ]


def test_a_folder_says_which_of_its_files_are_stored_otherwise(
    program: Program, folder: Path, rough_log: str
) -> None:
    (folder / "logs").mkdir()
    (folder / "logs" / "a.csv").write_text(rough_log)
    program.output("reduce", folder / "logs", *WHO)
    assert "another" not in program.run("reduce", folder / "logs", *WHO).stderr
    heavy = ("--airframe", "C-01", "--weight-kg", "600")
    done = program.run("reduce", folder / "logs", *heavy)
    assert done.exit_code == 0
    assert "a.csv: is stored with another --weight-kg" in done.stderr


def tags(program: Program) -> list[str]:
    with opened(program.store) as connection:
        query = "SELECT tag FROM sortie s JOIN airframe a ON a.id = s.airframe_id ORDER BY s.id"
        return [tag for (tag,) in connection.execute(query).fetchall()]


def kept(program: Program) -> list[dict[str, Any]]:
    """Points without what the airframe decides."""
    gone = ("airframe", "static_source", "engine", "propeller", "pitot")
    found = program.json("points", "list")["points"]
    return [{k: v for k, v in point.items() if k not in gone} for point in found]


@pytest.mark.long
def test_a_flight_of_a_wrong_airframe_is_moved_with_all_that_belongs_to_it_and_back(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    program.output("points", "reject", 2, "--reason", "gusts")
    program.output("power", 1, "--power-pct", 65)
    before, powers = kept(program), program.json("points", "list", "--quantity", "cruise")["runs"]
    refused = program.run("reduce", log, "--airframe", "C-02", "--weight-kg", "560")
    assert_explained(refused, 3, "the flight.csv", "stored for C-01 (sortie 1)")
    hint = refused.stderr.splitlines()[1]
    assert hint.endswith("move the flight: fleetcal points move 1 C-02")
    done = program.output(*hint.split("fleetcal ")[1].split())
    assert done.startswith("Sortie 1 of 2024-05-02 moved from C-01 to C-02: 3 points, now under ")
    assert tags(program) == ["C-02"]
    assert kept(program) == before
    (run,) = program.json("points", "list", "--quantity", "cruise")["runs"]
    assert run == {**powers[0], "airframe": "C-02"} | {k: run[k] for k in ("engine", "propeller")}
    assert asked(program, log, "--airframe", "C-02", "--weight-kg", "560") == []
    assert program.json("reduce", "--again")["flights"][0]["outcome"] == "alike"
    assert "The store has no faults" in program.output("store", "check")
    for tag in ("C-01", "C-02"):
        assert "points move" in program.output("show", "history", "--airframe", tag)
    program.output("undo")
    assert tags(program) == ["C-01"]
    assert program.json("points", "list", "--quantity", "cruise")["runs"] == powers


def test_a_move_that_cannot_be_is_refused_and_changes_nothing(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO, "--date", "2024-05-02")
    (folder / "late.toml").write_text(
        '[[airframe]]\ntag = "C-99"\ntype = "Corrie 2"\n  [[airframe.fit]]\n  from = 2025-01-01\n'
        '  static_source = "wing boom"\n  engine = "75 kW four"\n  propeller = "two-blade fixed"\n'
    )
    program.output("fleet", "load", folder / "late.toml")
    before = folder_content(folder)
    move = ("points", "move")
    assert_explained(program.run(*move, 1, "C-99"), 3, "C-99", "2025-01-01")
    assert_explained(program.run(*move, 1, "C-01"), 3, "stored for C-01 already")
    assert_explained(program.run(*move, 7, "C-02"), 35, "no sortie 7")
    assert_explained(program.run(*move, 1, "Q-02"), 35, "Q-02")
    assert folder_content(folder) == before


def test_an_airframe_that_has_the_flight_already_does_not_get_it_twice(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    with opened(program.store) as connection:
        columns = [row[0] for row in connection.execute("SELECT * FROM sortie").description]
        told = [c for c in columns if c not in ("id", "airframe_id", "equipment_fit_id")]
        connection.execute(
            f"INSERT INTO sortie (airframe_id, equipment_fit_id, {', '.join(told)})"
            f" SELECT f.airframe_id, f.id, {', '.join(f's.{name}' for name in told)}"
            " FROM sortie s CROSS JOIN equipment_fit f JOIN airframe a ON a.id = f.airframe_id"
            " WHERE a.tag = 'C-02' LIMIT 1"
        )
    before = folder_content(folder)
    refused = program.run("points", "move", 1, "C-02")
    assert_explained(refused, 3, "stored for C-02 too, as sortie 2")
    assert folder_content(folder) == before


def test_imported_points_are_not_moved(program: Program, folder: Path) -> None:
    heading = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt"
    (folder / "points.csv").write_text(f"{heading}\nC-01,2024-05-02,580,90,3000,2.0,0.5\n")
    program.output("points", "import", folder / "points.csv")
    refused = program.run("points", "move", 1, "C-02")
    assert_explained(refused, 3, "points.csv holds points of earlier work")


@pytest.mark.long
def test_bench_checks_of_the_other_airframe_are_not_passed_over(
    program: Program, log: Path, folder: Path
) -> None:
    (folder / "asi.csv").write_text("indicated_kt,correction_kt\n60,0.5\n130,-1.5\n")
    bench = (
        "bench",
        "enter",
        "airspeed",
        folder / "asi.csv",
        "--date",
        "2024-03-01",
        "--u-kt",
        "0.5",
    )
    program.output(*bench, "--airframe", "C-01")
    program.output("reduce", log, *WHO, "--keep-log")
    done = program.run("points", "move", 1, "C-02")
    assert "of C-02 are not those that the points were made with" in done.stderr
    before = program.json("points", "list")["points"][0]["vic_kt"]
    program.output("reduce", "--again", "--sortie", 1, "--replace")
    after = program.json("points", "list")["points"][0]["vic_kt"]
    assert abs(after - before) > 0.05
    assert program.run("points", "move", 1, "C-03").stderr == ""


@pytest.mark.long
def test_a_moved_flight_does_not_come_back_by_a_merge(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    program.output("share", "--out", folder / "before.json")
    program.output("points", "move", 1, "C-02")
    merged = program.json("merge", folder / "before.json")
    assert not merged["conflicts"]
    assert tags(program) == ["C-02"]
    fresh = Program(store_at(folder / "fresh.sqlite3"))
    program.output("share", "--out", folder / "after.json")
    fresh.output("merge", folder / "after.json")
    assert tags(fresh) == ["C-02"]
