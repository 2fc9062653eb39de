"""A log can be kept with its flight, listed, taken out byte for byte, and dropped."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content

WHO = ("--airframe", "C-01", "--weight-kg", "580")


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(rough_log)
    return path


def kept(program: Program) -> list[str]:
    return [row["file"] for row in program.json("show", "logs")["logs"]]


@pytest.mark.long
def test_no_log_is_kept_unless_it_is_asked_for(program: Program, log: Path) -> None:
    program.output("reduce", log, *WHO)
    assert kept(program) == []
    assert "log is kept now" in program.output("reduce", log, *WHO, "--keep-log")
    assert kept(program) == ["flight.csv"]
    assert "log is kept now" not in program.output("reduce", log, *WHO, "--keep-log")


@pytest.mark.long
def test_a_kept_log_is_listed_saved_and_dropped(program: Program, log: Path, folder: Path) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    (row,) = program.json("show", "logs")["logs"]
    assert (row["airframes"], row["file_bytes"]) == ("C-01", log.stat().st_size)
    assert row["packed_bytes"] < row["file_bytes"] / 2
    assert "There is 1 kept log" in program.output("show", "logs")
    original = log.read_bytes()
    log.unlink()
    program.output("logs", "save", row["sha256"][:8], "--out", folder / "again.csv")
    assert (folder / "again.csv").read_bytes() == original
    program.output("logs", "drop", "flight.csv")
    assert kept(program) == []
    assert len(program.json("points", "list")["points"]) == 3
    assert_explained(
        program.run("logs", "save", "flight.csv", "--out", folder / "x"), 35, "flight.csv"
    )
    assert "kept" in program.output("logs", "keep", folder / "again.csv")
    assert kept(program) == ["flight.csv"]


def test_only_what_was_reduced_can_be_kept(program: Program, log: Path) -> None:
    assert_explained(program.run("logs", "keep", log), 35, "flight.csv")
    assert_explained(program.run("logs", "keep", log.with_name("no.csv")), 3, "no.csv")


def test_a_preview_keeps_nothing(program: Program, log: Path, folder: Path) -> None:
    before = folder_content(folder)
    program.output("reduce", log, "--preview", "--keep-log")
    assert folder_content(folder) == before


def test_a_whole_folder_can_keep_its_logs(program: Program, log: Path, folder: Path) -> None:
    logs = folder / "logs"
    logs.mkdir()
    log.rename(logs / "flight.csv")
    program.output("reduce", logs, *WHO, "--keep-log")
    assert kept(program) == ["flight.csv"]


@pytest.mark.long
def test_logs_are_shared_only_when_asked_for(program: Program, log: Path, folder: Path) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    assert program.json("share", "--out", folder / "a.json")["logs"] == 0
    assert program.json("share", "--out", folder / "b.json", "--with-logs")["logs"] == 1
    other = Program(str(folder / "other.sqlite3"))
    other.output("merge", folder / "a.json")
    assert kept(other) == []
    preview = other.json("merge", folder / "b.json", "--preview")
    assert preview["lines"] == [{"what": "log of file flight.csv", "outcome": "kept"}]
    assert kept(other) == []
    other.output("merge", folder / "b.json")
    assert kept(other) == ["flight.csv"]
