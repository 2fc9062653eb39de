"""Run the real commands in this process, show each as it would be typed, and keep what it says."""

from __future__ import annotations

import io
import json
import os
import shlex
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, redirect_stdout
from pathlib import Path
from typing import Any, Final

from fleetcal.cli import main

STORE_VARIABLE: Final = "FLEETCAL_STORE"
KEY_VARIABLE: Final = "FLEETCAL_KEY"


def store_at(path: Path) -> AbstractContextManager[None]:
    """Let all commands inside use one store, as a shell would after `export`."""
    return _exported(STORE_VARIABLE, path)


def key_at(path: Path) -> AbstractContextManager[None]:
    """Let all commands inside sign with a key of somebody's own, likewise."""
    return _exported(KEY_VARIABLE, path)


@contextmanager
def _exported(variable: str, path: Path) -> Iterator[None]:
    before = os.environ.get(variable)
    os.environ[variable] = str(path)
    print(f"$ export {variable}={shlex.quote(str(path))}")
    try:
        yield
    finally:
        if before is None:
            del os.environ[variable]
        else:
            os.environ[variable] = before


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
