"""Runs the program as a person would, and checks how it fails."""

from __future__ import annotations

import json
import os
import traceback
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from fleetcal.cli import main
from tests.store_places import held_below

NOBODY = 65534


@dataclass(frozen=True)
class Program:
    """The program, working on one store."""

    store: str

    def run(self, *words: object) -> Result:
        """Run a command; an exception that the program does not explain is raised."""
        arguments = ["--store", self.store, *(str(word) for word in words)]
        result = CliRunner().invoke(main, arguments, prog_name="fleetcal")
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    def output(self, *words: object) -> str:
        """Return what a command that succeeds prints to standard output."""
        result = self.run(*words)
        assert result.exit_code == 0, result.stderr
        return result.stdout

    def json(self, *words: object) -> dict[str, Any]:
        """Return what a command that succeeds prints as JSON; NaN is refused."""
        text = self.output(*words, "--format", "json")
        found = json.loads(text, parse_constant=_refuse)
        assert isinstance(found, dict)
        return found


def _refuse(constant: str) -> None:
    raise AssertionError(f"{constant} is not JSON")


def assert_explained(result: Result, exit_code: int, *named: str) -> None:
    """Check for one line that says what is wrong and where, and one with a hint."""
    assert result.exit_code == exit_code, (result.exit_code, result.stderr)
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 2, result.stderr
    assert lines[0].startswith("Error: ")
    assert lines[1].startswith("Hint: ")
    assert len(lines[1]) > len("Hint: "), "the hint is empty"
    for text in named:
        assert text in lines[0], (text, lines[0])


def folder_content(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with its bytes, and what stores there hold on a server."""
    files = {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    return {**files, **held_below(folder)}


def as_ordinary_user(action: Callable[[], str]) -> str:
    """Run an action in a child process that file permissions bind, and return what it says.

    The super-user is bound by none, so a child of his first gives up his rights.
    """
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        # The child only runs the action and leaves, so idle threads of the parent do not matter.
        warnings.filterwarnings("ignore", message=".*fork.*", category=DeprecationWarning)
        child = os.fork()
    if child == 0:
        try:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            os.write(writing, action().encode())
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as pipe:
        said = pipe.read()
    assert os.waitpid(child, 0)[1] == 0, "the child process failed"
    return said
