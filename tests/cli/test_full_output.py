"""Standard output that cannot be written to: explained, and what was stored is said to be."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.attacks.disguises import flown
from tests.cli.command_line import Program
from tests.cli.invented_sortie import log_text


def ended(program: Program, *words: object, out: str = "", err: str = "") -> tuple[int, str]:
    """Run a command in a process of its own, with its output sent to a file."""
    command = [sys.executable, "-m", "fleetcal", "--store", program.store, *map(str, words)]
    with open(out or "/dev/null", "w") as stdout, open(err or "/dev/null", "w") as stderr:
        done = subprocess.run(
            command,
            stdout=stdout,
            stderr=stderr if err else subprocess.PIPE,
            text=True,
            check=False,
        )
    return done.returncode, done.stderr or ""


@pytest.fixture
def log(folder: Path) -> Path:
    path = folder / "log.csv"
    path.write_text(log_text(flown(1)))
    return path


@pytest.mark.long
def test_what_was_stored_before_the_disk_was_full_is_said_to_be_stored(
    program: Program, log: Path
) -> None:
    code, said = ended(program, "reduce", log, "--airframe", "C-01", out="/dev/full")
    assert code == 3
    assert said.splitlines()[-2:] == [
        "Error: what is printed could not be written: No space left on device",
        "Hint: the store was changed all the same; 'fleetcal show history' has the change",
    ]
    assert len(program.json("points", "list")["points"]) == 3


@pytest.mark.long
@pytest.mark.parametrize(
    "words", [("--help",), ("points", "list"), ("settings",), ("points", "list", "--out", "-")]
)
def test_a_full_disk_is_explained_where_nothing_was_stored(
    program: Program, words: tuple[str, ...]
) -> None:
    code, said = ended(program, *words, out="/dev/full")
    assert code == 3
    assert "Traceback" not in said
    assert said.endswith("the store was not changed; make room, or print to another place\n")


@pytest.mark.long
def test_an_error_that_cannot_be_printed_keeps_its_exit_code(program: Program) -> None:
    assert ended(program, "standing", "C-99", err="/dev/full")[0] == 35


def test_a_reader_that_goes_away_ends_the_program_quietly(program: Program) -> None:
    command = [sys.executable, "-m", "fleetcal", "manual", "changes"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
    assert running.returncode == 0
