"""Whatever goes wrong is explained in one line with a hint, and leaves nothing behind."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

import fleetcal
from fleetcal.store import locate
from tests.cli.command_line import Program, as_ordinary_user, assert_explained, folder_content
from tests.cli.invented_fleet import MID, TAIL, WING, fleet_toml
from tests.cli.invented_sortie import fly, log_text
from tests.store_places import change, opened, store_at


def spoilt_log(log: str, line: int, cell: int, text: str, count: int = 1) -> str:
    """Put a text into one cell of some lines, counted from 1."""
    lines = log.split("\n")
    for i in range(line - 1, line - 1 + count):
        cells = lines[i].split(",")
        cells[cell] = text
        lines[i] = ",".join(cells)
    return "\n".join(lines)


Writer = Callable[[str], str | bytes]
NOISE = np.random.default_rng(1).bytes(4000)

BAD_LOGS: dict[str, tuple[Writer, int, tuple[str, ...]]] = {
    "malformed cells": (
        lambda log: spoilt_log(log, 301, 2, "n/k", count=100),
        34,
        ("line 301", "'IAS (kt)'", "'n/k'"),
    ),
    "ragged rows": (
        lambda log: log.replace(",09:4", "09:4"),
        34,
        ("line 602", "6 cells"),
    ),
    "no satellite track": (
        lambda log: log.replace("track (deg true)", "heading (deg true)"),
        33,
        ("GPS ground track", "'heading (deg true)'"),
    ),
    "no airspeed": (
        lambda log: log.replace("IAS (kt)", "foo (kt)"),
        33,
        ("airspeed", "'foo (kt)'"),
    ),
    "no temperature": (lambda log: log.replace("OAT (degC)", "foo"), 33, ("temperature",)),
    "no altitude": (lambda log: log.replace("pressure altitude (ft)", "foo"), 33, ("altitude",)),
    "empty": (lambda log: "", 31, ("empty",)),
    "headings only": (lambda log: log.split("\n")[0] + "\n", 31, ("no rows",)),
    "binary": (lambda log: NOISE, 32, ("binary",)),
    "prose": (lambda log: "Dear all,\nthe flight went well.\n", 34, ("table",)),
    "on the ground": (lambda log: "\n".join(log.split("\n")[:50]) + "\n", 37, ("0 steady legs",)),
}


@pytest.mark.parametrize("case", BAD_LOGS)
def test_a_log_that_cannot_be_used_is_refused(
    case: str, program: Program, folder: Path, rough_log: str
) -> None:
    write, exit_code, named = BAD_LOGS[case]
    content = write(rough_log)
    log = folder / "flight.csv"
    log.write_bytes(content.encode() if isinstance(content, str) else content)
    before = folder_content(folder)
    result = program.run("reduce", log, "--airframe", "C-01", "--weight-kg", 580)
    assert_explained(result, exit_code, "flight.csv", *named)
    assert folder_content(folder) == before


def test_the_log_that_these_were_made_from_is_not_refused(
    program: Program, folder: Path, rough_log: str
) -> None:
    (folder / "flight.csv").write_text(rough_log)
    program.output("reduce", folder / "flight.csv", "--airframe", "C-01", "--weight-kg", 580)


BAD_COMMANDS: dict[str, tuple[tuple[str, ...], int, tuple[str, ...]]] = {
    "missing log": (("reduce", "none.csv", "--airframe", "C-01"), 3, ("none.csv",)),
    "a folder for a log": (("columns", "."), 3, ("directory",)),
    "unknown airframe": (("reduce", "flight.csv", "--airframe", "C-99"), 35, ("'C-99'",)),
    "before the first fit": (
        ("reduce", "flight.csv", "--airframe", "C-01", "--date", "2001-02-03"),
        3,
        ("C-01", "2015-04-01", "2001-02-03"),
    ),
    "missing settings": (
        ("reduce", "flight.csv", "--airframe", "C-01", "--settings", "none.toml"),
        3,
        ("none.toml",),
    ),
    "unknown static source": (("curve", "wing bom"), 35, ("'wing bom'",)),
    "unknown engine": (("curve", f"{WING} / 90 kW / two-blade fixed"), 35, ("'90 kW'",)),
    "half a group": (("publish", f"{WING} / 75 kW four", "--out", "pages"), 3, ("75 kW four",)),
    "unknown type": (("curve", WING, "--type", "Corrie 9"), 35, ("'Corrie 9'",)),
    "no points yet": (("curve", TAIL), 5, (TAIL, "of 0 of the 3 airframes")),
    "nobody to judge": (("outliers",), 5, ("3 airframes",)),
    "unknown tag": (("standing", "C-99"), 35, ("'C-99'",)),
    "unknown tag in a list": (("points", "list", "--airframe", "C-99"), 35, ("'C-99'",)),
    "unknown source in a list": (("points", "list", "--static-source", "x"), 35, ("'x'",)),
    "unknown point": (("points", "accept", "77"), 35, ("77",)),
    "no reason": (("points", "reject", "77", "--reason", " "), 3, ("reason",)),
    "missing fleet file": (("fleet", "load", "none.toml"), 3, ("none.toml",)),
    "missing points file": (("points", "import", "none.csv"), 3, ("none.csv",)),
    "nowhere to write": (("show", "fleet", "--out", "flight.csv/fleet.toml"), 3, ("flight.csv",)),
}


@pytest.mark.parametrize("case", BAD_COMMANDS)
def test_a_command_that_cannot_be_done_is_refused(
    case: str, program: Program, folder: Path, rough_log: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    words, exit_code, named = BAD_COMMANDS[case]
    (folder / "flight.csv").write_text(rough_log)
    monkeypatch.chdir(folder)
    before = folder_content(folder)
    assert_explained(program.run(*words), exit_code, *named)
    assert folder_content(folder) == before


BAD_USAGE: dict[str, tuple[tuple[str, ...], str]] = {
    "no airframe": (("reduce", "."), "--airframe"),
    "no reason": (("points", "reject", "1"), "--reason"),
    "no such day": (("reduce", "flight.csv", "--date", "2024-02-30"), "2024-02-30"),
    "not a number": (("reduce", "flight.csv", "--weight-kg", "nan"), "nan"),
    "not a step": (("curve", WING, "--step", "0"), "--step"),
    "no such format": (("points", "list", "--format", "xml"), "xml"),
}


@pytest.mark.parametrize("case", BAD_USAGE)
def test_wrong_usage_ends_in_code_two_and_names_the_option(
    case: str, program: Program, folder: Path
) -> None:
    words, named = BAD_USAGE[case]
    before = folder_content(folder)
    result = program.run(*words)
    assert result.exit_code == 2
    assert named in result.stderr.splitlines()[-1]
    assert folder_content(folder) == before


def test_a_group_of_too_few_airframes_is_told_with_their_number(
    program: Program, folder: Path
) -> None:
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"]
    lines += [f"C-{n},2024-03-05,600,{v},3000,0.01,0.005" for n in (19, 20) for v in (70, 90)]
    (folder / "points.csv").write_text("\n".join(lines) + "\n")
    program.output("points", "import", folder / "points.csv")
    assert "From 2 airframes only" in program.output("curve", MID)
    issued = ("publish", MID, "--issue", "--reason", "x", "--out", folder / "issued")
    assert_explained(program.run(*issued), 5, MID, "of 2 of the 3 airframes")
    assert_explained(program.run("outliers", MID), 5, MID, "of 2 of the 3 airframes")


def test_a_bad_cell_in_the_last_line_keeps_all_points_out(program: Program, folder: Path) -> None:
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"]
    lines += [f"C-01,2024-03-05,600,{v},3000,0.01,0.005" for v in range(60, 120)]
    lines += ["C-02,2024-03-05,600,80,3000,0.o1,0.005"]
    (folder / "points.csv").write_text("\n".join(lines) + "\n")
    before = folder_content(folder)
    result = program.run("points", "import", folder / "points.csv")
    assert_explained(result, 34, "points.csv, line 62, column kappa", "'0.o1'")
    assert folder_content(folder) == before


def newer(store: Path) -> None:
    change(store_at(store), "UPDATE fleetcal_revision SET version_num = '9999'")


def missing(store: Path) -> None:
    """Take the store away: its file, or all tables of its database."""
    if "://" not in store_at(store):
        store.unlink()
        return
    with opened(store_at(store)) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")


def foreign(store: Path) -> None:
    missing(store)
    with opened(store_at(store)) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")


def damaged(store: Path) -> None:
    content = bytearray(store.read_bytes())
    content[4096:12288] = NOISE * 2 + bytes(192)
    store.write_bytes(content)


def a_folder(store: Path) -> None:
    store.unlink()
    store.mkdir()


BAD_STORES: dict[str, tuple[Callable[[Path], object], int, str]] = {
    "missing": (missing, 4, "there is no store"),
    "garbage": (lambda store: store.write_bytes(NOISE), 43, "not a fleetcal store"),
    "text": (lambda store: store.write_text("hello"), 43, "not a fleetcal store"),
    "somebody else's": (foreign, 43, "recipes"),
    "newer": (newer, 42, "newer"),
    "a folder": (a_folder, 43, "folder"),
}


ON_FILES = pytest.mark.file_store("what lies there is no database at all")


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, marks=ON_FILES if case in ("garbage", "text", "a folder") else ())
        for case in BAD_STORES
    ],
)
@pytest.mark.parametrize(
    "words",
    [
        ("reduce", "flight.csv", "--airframe", "C-01"),
        ("points", "list"),
        ("points", "import", "points.csv"),
        ("curve", WING),
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_a_store_that_cannot_be_used_is_left_alone(
    case: str,
    words: tuple[str, ...],
    program: Program,
    folder: Path,
    rough_log: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    spoil, exit_code, named = BAD_STORES[case]
    spoil(folder / "store.sqlite3")
    (folder / "flight.csv").write_text(rough_log)
    (folder / "points.csv").write_text(
        "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"
        "C-01,2024-03-05,600,80,3000,0.01,0.005\n"
    )
    monkeypatch.chdir(folder)
    before = folder_content(folder)
    assert_explained(program.run(*words), exit_code, locate(program.store).label, named)
    assert folder_content(folder) == before


@pytest.mark.file_store("a server looks after its own files")
def test_a_damaged_store_is_explained(program: Program, folder: Path) -> None:
    damaged(folder / "store.sqlite3")
    before = folder_content(folder)
    result = program.run("show", "fleet")
    assert_explained(result, 4, "damaged")
    assert folder_content(folder) == before


@pytest.fixture
def reachable() -> Iterator[Path]:
    """A folder that any user can enter, which pytest's own is not."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name)
        path.chmod(0o755)
        yield path
        path.chmod(0o755)


def told(program: Program, *words: object) -> str:
    """What a command ends in, as one text that a child process can send."""
    result = program.run(*words)
    return json.dumps([result.exit_code, result.stdout, result.stderr])


@pytest.mark.long
@pytest.mark.file_store("on a server rights are granted, see test_store_roles")
def test_a_read_only_store_is_read_but_takes_no_flight(
    begun_file: str, reachable: Path, rough_log: str, tmp_path: Path
) -> None:
    store, log = reachable / "store.sqlite3", reachable / "flight.csv"
    log.write_text(rough_log)
    shutil.copy(begun_file, tmp_path / "other.sqlite3")
    reducing = ("reduce", log, "--airframe", "C-01", "--weight-kg", 580)
    # Once as oneself, so that the child finds every module loaded and readable.
    Program(str(tmp_path / "other.sqlite3")).output(*reducing)
    shutil.copy(begun_file, store)
    for path in (store, log):
        path.chmod(0o444)
    reachable.chmod(0o555)
    before = folder_content(reachable)
    program = Program(str(store))
    exit_code, output, _ = json.loads(as_ordinary_user(lambda: told(program, "show", "fleet")))
    assert exit_code == 0
    assert "C-01" in output
    exit_code, output, errors = json.loads(as_ordinary_user(lambda: told(program, *reducing)))
    assert exit_code == 41
    assert output == ""
    assert errors.splitlines()[0] == f"Error: {store} cannot be written"
    assert errors.splitlines()[1].startswith("Hint: ")
    assert folder_content(reachable) == before


@pytest.mark.long
@pytest.mark.file_store("a server has no folder")
def test_no_store_is_begun_in_a_read_only_folder(reachable: Path, tmp_path: Path) -> None:
    (reachable / "fleet.toml").write_text(fleet_toml())
    loading = ("fleet", "load", reachable / "fleet.toml")
    Program(str(tmp_path / "other.sqlite3")).output(*loading)
    reachable.chmod(0o555)
    before = folder_content(reachable)
    program = Program(str(reachable / "store.sqlite3"))
    exit_code, _, errors = json.loads(as_ordinary_user(lambda: told(program, *loading)))
    assert exit_code == 41, errors
    assert folder_content(reachable) == before


def test_control_signs_in_a_file_do_not_reach_the_terminal(program: Program, folder: Path) -> None:
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"]
    lines += ["C-01\x1b[31m,2024-03-05,600,80,3000,0.01,0.005"]
    (folder / "points.csv").write_text("\n".join(lines) + "\n")
    result = program.run("points", "import", folder / "points.csv")
    assert_explained(result, 35, "C-01")
    assert "\x1b" not in result.stderr


@pytest.mark.long
def test_the_whole_program_prints_no_traceback_and_its_own_exit_code(
    folder: Path, begun_file: str
) -> None:
    (folder / "flight.csv").write_text(log_text(fly()).replace("track", "heading"))
    done = subprocess.run(
        [
            sys.executable,
            "-W",
            "error",
            "-m",
            "fleetcal",
            "reduce",
            "flight.csv",
            "--airframe",
            "C-01",
        ],
        cwd=folder,
        env={
            **os.environ,
            "FLEETCAL_STORE": begun_file,
            "PYTHONPATH": str(Path(fleetcal.__file__).parents[1]),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 33
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert [line.split(":")[0] for line in done.stderr.splitlines()] == ["Error", "Hint"]
