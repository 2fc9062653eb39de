"""A whole folder of flights at once, and what becomes of it when it is interrupted."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import fleetcal
from tests.cli.command_line import Program, assert_explained
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store_places import copy_store, opened

TABLES = ("source_file", "sortie", "leg", "calibration_point", "uncertainty_term")
WHEN = {"added_at", "decided_at"}
# Its sheets are alike to the last digit, on purpose.
WHO = ("--airframe", "C-01", "--weight-kg", "580", "--date", "2024-05-02", "--another-flight")


@pytest.fixture(scope="module")
def logs_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixteen flights: twelve spare legs in the first six, then also sheets of three legs."""
    folder = tmp_path_factory.mktemp("logs")
    for number in range(16):
        path = folder / f"flight {number:02d}.csv"
        if number > 5 and number % 2:
            path.write_text(leg_sheet(number, legs=3))
            continue
        card = Card(airspeeds_kt=(80.0, 110.0), legs=4, leg_s=60)
        path.write_text(log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=number)))
    return folder


def content(store: str) -> dict[str, list[dict[str, Any]]]:
    """Return all that was stored, but for the times of storing."""
    found = {}
    with opened(store) as connection:
        for table in TABLES:
            rows = connection.execute(f"SELECT * FROM {table} ORDER BY id")
            names = [column[0] for column in rows.description]
            found[table] = [
                {key: value for key, value in zip(names, row, strict=True) if key not in WHEN}
                for row in rows.fetchall()
            ]
    return found


def numbered(found: dict[str, list[dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    """Return stored rows numbered from 1: a server leaves out the numbers of what was cut off."""
    place = {
        f"{table}_id": {row["id"]: number for number, row in enumerate(rows, 1)}
        for table, rows in found.items()
    }
    return {
        table: [
            {
                key: place[f"{table}_id"][value]
                if key == "id"
                else place.get(key, {}).get(value, value)
                for key, value in row.items()
            }
            for row in rows
        ]
        for table, rows in found.items()
    }


def other_store(begun_file: str, folder: Path, name: str) -> Program:
    return Program(copy_store(begun_file, folder / name))


@pytest.fixture(scope="module")
def expected(
    begun_file: str, logs_folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, list[dict[str, Any]]]:
    """What a store holds after all flights, reduced one by one."""
    alone = other_store(begun_file, tmp_path_factory.mktemp("alone"), "alone.sqlite3")
    for path in sorted(logs_folder.iterdir()):
        alone.output("reduce", path, *WHO)
    return content(alone.store)


@pytest.mark.long
def test_the_store_is_the_same_one_by_one_and_with_any_number_of_processes(
    begun_file: str, folder: Path, logs_folder: Path, expected: dict[str, list[dict[str, Any]]]
) -> None:
    assert len(expected["sortie"]) == 16
    for processes in (1, 2):
        together = other_store(begun_file, folder, f"{processes}.sqlite3")
        done = together.json("reduce", logs_folder, *WHO, "--processes", processes)
        assert (done["kind"], done["stored"], done["failed"]) == ("folder_reduction", 16, 0)
        found = content(together.store)
        for table in TABLES:
            assert found[table] == expected[table], (processes, table)
        points, files = found["calibration_point"], done["files"]
        assert sum(line["runs"] for line in files) == len(points)
        refused = sum(not point["accepted"] for point in points)
        assert sum(line["not_accepted"] for line in files) == refused
    # It would prove nothing if no flight had borrowed what the flights before it found.
    by_itself = other_store(begun_file, folder, "by itself.sqlite3")
    for number in (7, 15):
        by_itself.output("reduce", logs_folder / f"flight {number:02d}.csv", *WHO)
    own = [row["u_kappa"] for row in content(by_itself.store)["calibration_point"]]
    sheets = {
        row["id"] for row in expected["sortie"] if row["id"] > 6 and row["id"] % 2 == 0
    }  # numbered from 1
    borrowed = [
        row["u_kappa"] for row in expected["calibration_point"] if row["sortie_id"] in sheets
    ]
    assert len(borrowed) == 5
    assert own[0] == own[1]
    assert own[0] not in borrowed
    settings = {row["settings_json"] for row in expected["sortie"]}
    assert sum("leg_scatter_kt" in text for text in settings) > 4


@pytest.mark.long
def test_one_bad_file_does_not_stop_the_others(
    program: Program, folder: Path, rough_log: str
) -> None:
    logs = folder / "logs"
    logs.mkdir()
    (logs / "a.csv").write_bytes(bytes(range(256)) * 40)
    (logs / "b.csv").write_text(rough_log)
    (logs / "c.csv").write_text(rough_log)
    (logs / "d.csv").write_text("")
    (logs / ".hidden").write_text("not a log")
    (logs / "inner").mkdir()
    result = program.run("reduce", logs, "--airframe", "C-01", "--weight-kg", 580)
    assert result.exit_code == 3
    table = result.stdout.split("\n\n")[1]
    rows = {line.split()[0]: line for line in table.splitlines()}
    assert {name for name in rows if name.endswith(".csv")} == {f"{x}.csv" for x in "abcd"}
    assert "failed" in rows["a.csv"]
    assert "stored" in rows["b.csv"]
    assert "known already" in rows["c.csv"], "the same content twice in one folder"
    assert "failed" in rows["d.csv"]
    assert "2 of 4 files are kept: 1 stored now, 1 known already, 2 failed." in result.stdout
    assert "What the flights of C-01 here say of its indicator:" in result.stdout
    reasons = [r for r in result.stdout.split("\n\n")[2].splitlines() if not r.startswith(" ")]
    assert [reason.split()[0] for reason in reasons] == ["a.csv", "d.csv"]
    assert "Advisory" in result.stdout
    assert len(program.json("points", "list")["points"]) == 3


def test_a_folder_done_again_adds_nothing_and_is_all_right(
    program: Program, folder: Path, rough_log: str
) -> None:
    logs = folder / "logs"
    logs.mkdir()
    (logs / "b.csv").write_text(rough_log)
    program.output("reduce", logs, "--airframe", "C-01", "--weight-kg", 580)
    before = content(program.store)
    text = program.output("reduce", logs, "--airframe", "C-01")
    assert "1 of 1 file is kept: 0 stored now, 1 known already, 0 failed." in text
    assert "Advisory" in text
    assert content(program.store) == before


@pytest.mark.long
def test_a_list_says_who_flew_at_what_weight_and_when(program: Program, folder: Path) -> None:
    logs = folder / "logs"
    logs.mkdir()
    card = Card(airspeeds_kt=(90.0,), legs=4)
    for seed, name in enumerate(("z.csv", "a.csv", "m.csv", "not-listed.csv")):
        (logs / name).write_text(log_text(fly(card, Truth(roughness=1.0), seed), dated=False))
    (folder / "list.csv").write_text(
        "file,airframe,weight_kg,date,takeoff_weight_kg,fuel_used_kg_per_h\n"
        "z.csv,C-02,555,2024-03-01,,\n"
        "m.csv,C-03,,2024-03-02,600,36\n"
        "a.csv,,,,,\n"
    )
    options = ("--airframe", "C-04", "--weight-kg", 570, "--date", "2024-04-04")
    done = program.json("reduce", logs, "--flights", folder / "list.csv", *options)
    assert [line["file"] for line in done["files"]] == ["z.csv", "m.csv", "a.csv"]
    points = {p["airframe"]: p for p in program.json("points", "list")["points"]}
    assert points["C-02"]["weight_kg"] == 555.0
    assert points["C-02"]["flown_on"] == "2024-03-01"
    assert 595.0 < points["C-03"]["weight_kg"] < 600.0
    assert (points["C-04"]["weight_kg"], points["C-04"]["flown_on"]) == (570.0, "2024-04-04")


LISTS = {
    "weight_kg\n580\n": (33, "no column file"),
    "file,airframe\na.csv,C-01\na.csv,C-02\n": (34, "line 3, column file: a.csv is listed"),
    "file,airframe\na.csv,\n": (34, "line 2, column airframe: no airframe"),
    "file,airframe\n,C-01\n": (34, "line 2, column file: the cell is empty"),
    "file,airframe,weight_kg\na.csv,C-01,x\n": (34, "line 2, column weight_kg: 'x'"),
    "file,airframe,weight_kg\na.csv,C-01,-3\n": (34, "line 2, column weight_kg: -3"),
    "file,airframe,date\na.csv,C-01,1.2.24\n": (34, "line 2, column date: '1.2.24'"),
    "file,airframe,fuel_used_kg_per_h\na.csv,C-01,9\n": (34, "line 2, column fuel_used"),
    "file,airframe,weight_kg,takeoff_weight_kg\na.csv,C-01,580,600\n": (
        34,
        "line 2, column takeoff",
    ),
    "file,airframe,humidity_pct,dew_point_degc\na.csv,C-01,50,5\n": (
        34,
        "line 2, column dew_point_degc: a humidity and a dew point",
    ),
    "file,airframe,humidity_pct\na.csv,C-01,101\n": (
        34,
        "line 2, column humidity_pct: 101 is not within 0 to 100",
    ),
    "file,airframe,dew_point_degc\na.csv,C-01,-81\n": (
        34,
        "line 2, column dew_point_degc: -81 is not within -80 to 40",
    ),
    "file,who\na.csv,C-01\n": (34, "'who'"),
}


@pytest.mark.parametrize("text", LISTS, ids=[named for _, named in LISTS.values()])
def test_a_wrong_list_is_refused_before_anything_is_read(
    text: str, program: Program, folder: Path
) -> None:
    (folder / "list.csv").write_text(text)
    exit_code, named = LISTS[text]
    result = program.run("reduce", folder, "--flights", folder / "list.csv")
    assert_explained(result, exit_code, "list.csv", named)


def test_a_file_of_the_list_that_is_not_there_and_an_unknown_airframe_are_told(
    program: Program, folder: Path, rough_log: str
) -> None:
    (folder / "b.csv").write_text(rough_log)
    (folder / "list.csv").write_text("file,airframe\nnone.csv,C-01\nb.csv,C-77\n")
    result = program.run("reduce", folder, "--flights", folder / "list.csv")
    assert result.exit_code == 3
    assert "none.csv: No such file" in result.stdout
    assert "C-77" in result.stdout.split("failed.")[1]
    assert content(program.store)["sortie"] == []


def test_a_folder_that_is_not_there_or_empty_is_refused(program: Program, folder: Path) -> None:
    words = ("--airframe", "C-01")
    assert_explained(program.run("reduce", folder / "none", *words), 3, "none")
    (folder / "empty").mkdir()
    assert_explained(program.run("reduce", folder / "empty", *words), 3, "no file in it")


def test_the_store_in_the_folder_is_not_taken_for_a_flight(
    program: Program, folder: Path, rough_log: str
) -> None:
    (folder / "b.csv").write_text(rough_log)
    done = program.json("reduce", folder, "--airframe", "C-01", "--weight-kg", 580)
    assert [line["file"] for line in done["files"]] == ["b.csv"]


def test_without_airframe_and_list_the_usage_is_told(program: Program, folder: Path) -> None:
    result = program.run("reduce", folder)
    assert result.exit_code == 2
    assert "'--airframe' or '--flights'" in result.stderr


def sorties(store: str) -> int:
    with opened(store) as connection:
        return int(connection.execute("SELECT count(*) FROM sortie").fetchone()[0])


def interrupted(store: str, words: tuple[object, ...]) -> tuple[int, str]:
    """Begin a folder, interrupt it after the first flights; return exit code and standard error."""
    command = [sys.executable, "-m", "fleetcal", "--store", store, "reduce"]
    child = subprocess.Popen(
        [*command, *map(str, words)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # tests that were themselves started in the background hand on a deaf ear for it
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        env={**os.environ, "PYTHONPATH": str(Path(fleetcal.__file__).parents[1])},
    )
    deadline = time.monotonic() + 600.0
    while sorties(store) < 2 and child.poll() is None and time.monotonic() < deadline:
        time.sleep(0.005)
    if child.poll() is None:
        # As a terminal does it: every process of the group is interrupted.
        os.killpg(child.pid, signal.SIGINT)
    told = child.communicate(timeout=600)[1]
    return child.returncode, told


@pytest.mark.long
def test_an_interruption_leaves_whole_flights_and_the_next_time_goes_on(
    begun_file: str, folder: Path, logs_folder: Path, expected: dict[str, list[dict[str, Any]]]
) -> None:
    words = (*WHO, "--processes", "2")
    # On a busy machine all flights may be done before the interruption comes: then once more.
    for attempt in range(10):
        cut = other_store(begun_file, folder, f"cut{attempt}.sqlite3")
        code, told = interrupted(cut.store, (logs_folder, *words))
        if code != 0:
            break
    assert code == 130, told
    assert "Traceback" not in told
    assert "the same command goes on from there" in told
    left = content(cut.store)
    assert 2 <= len(left["sortie"]) < 16
    for table in TABLES:
        assert left[table] == expected[table][: len(left[table])], table
    # No flight is there in part: every sortie has all its points, and every point its terms.
    last = max(row["id"] for row in left["sortie"])
    assert len(left["calibration_point"]) == sum(
        row["sortie_id"] <= last for row in expected["calibration_point"]
    )
    done = cut.json("reduce", logs_folder, *words)
    assert (done["known"], done["stored"]) == (len(left["sortie"]), 16 - len(left["sortie"]))
    assert numbered(content(cut.store)) == numbered(expected)
