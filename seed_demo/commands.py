"""Run the real commands in this process, show each as it would be typed, and keep what it says."""

from __future__ import annotations

import io
import json
import os
import shlex
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from pathlib import Path
from typing import Any, Final

from fleetcal.cli import main

STORE_VARIABLE: Final = "FLEETCAL_STORE"


@contextmanager
def store_at(path: Path) -> Iterator[None]:
    """Let all commands inside use one store, as a shell would after `export`."""
    before = os.environ.get(STORE_VARIABLE)
    os.environ[STORE_VARIABLE] = str(path)
    print(f"$ export {STORE_VARIABLE}={shlex.quote(str(path))}")
    try:
        yield
    finally:
        if before is None:
            del os.environ[STORE_VARIABLE]
        else:
            os.environ[STORE_VARIABLE] = before


def run(*words: str) -> str:
    """Run one command and return what it prints for people or programs.

    Args:
        words: The command line after `fleetcal`.

    Returns:
        Standard output.

    Raises:
        SystemExit: With the command's own exit code: the demonstration does not go on past a
            failure.
    """
    print(f"$ fleetcal {shlex.join(words)}", flush=True)
    printed = io.StringIO()
    try:
        with redirect_stdout(printed):
            main(list(words), prog_name="fleetcal")
    except SystemExit as end:
        if end.code:
            raise
    return printed.getvalue()


def show(*words: str) -> None:
    """Run one command and show what it prints."""
    print(run(*words).rstrip("\n") + "\n", flush=True)


def glance(lines: int, *words: str) -> None:
    """Run one command and show how what it prints begins."""
    print("\n".join(run(*words).splitlines()[:lines]), flush=True)


def ask(*words: str) -> dict[str, Any]:
    """Run one command with JSON output and return the object."""
    answer: dict[str, Any] = json.loads(run(*words, "--format", "json"))
    return answer
