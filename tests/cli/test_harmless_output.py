"""What files and people wrote cannot steer a terminal, run in a spreadsheet, or name aircraft."""

from __future__ import annotations

import ast
import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.plain_text import guarded_cell, unguarded_cell
from fleetcal.services.publishing.discretion import Discretion
from tests.attacks.disguises import flown
from tests.cli.command_line import Program
from tests.cli.invented_sortie import HEADINGS, log_text
from tests.sources import modules, short

ESCAPE = "\x1b]0;owned\x07\x1b[31m\x9b2J"
FORMULAS = ("=1+1", "+1", "-calm", "@SUM(A1)", "'=1", "''=x;+y", "a;=b", "plain", "'quoted'")
POINTS = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt\n"


def steers(text: str) -> bool:
    return any((sign < " " and sign not in "\n\t") or "\x7f" <= sign <= "\x9f" for sign in text)


def test_only_the_printer_prints() -> None:
    found = [
        short(path)
        for path in modules("fleetcal/cli")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr == "echo"
    ]
    # The wiped line of progress is a sequence of the program's own.
    assert set(found) == {"fleetcal/cli/printer.py", "fleetcal/cli/progress.py"}
    printed = [
        short(path)
        for path in modules("fleetcal/cli")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Name) and node.id == "print"
    ]
    assert printed == []


def test_headings_names_and_notes_do_not_reach_the_terminal_as_sequences(
    program: Program, folder: Path
) -> None:
    log = folder / "log.csv"
    text = log_text(flown(1)).replace(HEADINGS[0], f"{ESCAPE}{HEADINGS[0]}", 1)
    log.write_text(text.replace("OAT (degC)", f"OAT {ESCAPE} (degC)", 1))
    who = ("--airframe", "C-01", "--note", f"calm {ESCAPE}")
    for words in (
        ("columns", log),
        ("reduce", log),
        ("reduce", log, "--details"),
        ("reduce", log, "--format", "csv"),
        ("reduce", log, "--format", "json"),
        ("reduce", log, *who),
        ("reduce", f"no {ESCAPE}.csv"),
        ("standing", f"C-{ESCAPE}"),
        ("points", "reject", "1", "--reason", f"loose {ESCAPE}"),
        ("points", "list"),
        ("points", "list", "--format", "json"),
        ("show", "history"),
        ("store", "check"),
    ):
        done = program.run(*words)
        assert not steers(done.stdout), words
        assert not steers(done.stderr), words


@given(st.lists(st.sampled_from([*"=+-@';\t\r a1", "\uff1d"]), max_size=8).map("".join))
def test_a_guarded_cell_comes_back_and_begins_nothing_that_runs(text: str) -> None:
    guarded = guarded_cell(text)
    assert unguarded_cell(guarded) == text
    for part in guarded.split(";"):
        assert part.lstrip()[:1] not in (*"=+-@", "\uff1d")
        assert part[:1] not in ("\t", "\r") or not part.strip(" \t\r")


@pytest.mark.parametrize("text", FORMULAS)
def test_points_written_to_a_file_run_nowhere_and_come_back_as_they_were(
    program: Program, folder: Path, text: str
) -> None:
    file = folder / "points.csv"
    file.write_text(f"{POINTS}C-01,2024-05-02,600,80.5,3500,-1.5,0.75\n")
    program.output("points", "import", file)
    program.output("points", "reject", "1", "--reason", text)
    exported = program.output("points", "list", "--out", "-")
    (row,) = csv.DictReader(io.StringIO(exported))
    assert row["reason"].lstrip()[:1] not in (*"=+-@",)
    assert float(row["dvpc_kt"]) < 0.0
    program.output("undo")
    program.output("undo")
    (folder / "again.csv").write_text(exported)
    program.output("points", "import", folder / "again.csv")
    (point,) = program.json("points", "list")["points"]
    assert point["reason"] == text


def test_registrations_are_known_however_they_are_written() -> None:
    known = {"G-ZQXW": "C-07", "N123": "C-01", "N1234": "C-02"}
    discretion = Discretion(known, with_days=True)
    for text, masked in (
        ("GZQXW20240501.csv", "C-07_20240501.csv"),
        ("G-ZQXW20240501.csv", "C-07_20240501.csv"),
        ("20240501gzqxw.csv.gz", "20240501_C-07.csv.gz"),
        ("2024-05-01_g_zqxw_log.csv", "2024-05-01_C-07_log.csv"),
        ("the line of gzqxw was loose", "the line of C-07 was loose"),
        ("G--ZQXW, G ZQXW", "C-07, C-07"),
        ("N1234, N123, n-123", "C-02, C-01, C-01"),
        # of other aircraft
        ("N12345 N123A AGZQXW GZQXWA", "N12345 N123A AGZQXW GZQXWA"),
    ):
        assert discretion.words(text) == masked
