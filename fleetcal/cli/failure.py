"""Errors as the user sees them: one line, a hint, and an exit code of their own."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from contextlib import suppress
from typing import IO

import click

from fleetcal.cli.printer import echo
from fleetcal.cli.prose import folded
from fleetcal.cli.shown_units import in_shown_units
from fleetcal.cli.terminal import is_terminal
from fleetcal.errors import FleetcalError
from fleetcal.plain_text import printable


class Failure(click.ClickException):
    """A FleetcalError on its way to the terminal."""

    def __init__(self, error: FleetcalError) -> None:
        super().__init__(error.message)
        self.error = error

    @property
    def exit_code(self) -> int:  # type: ignore[override]  # click reads it from the instance
        """Return the exit code of the kind of error."""
        return self.error.exit_code

    def show(self, file: IO[str] | None = None) -> None:
        """Print warnings, message and hint to standard error, if that can be written to."""
        with suppress(OSError):
            warn(self.error.warnings)
            _echo(f"Error: {message_line(self.message)}")
            if self.error.hint:
                _echo(f"Hint: {message_line(self.error.hint)}")


def _echo(line: str) -> None:
    """Print a line to standard error, wrapped for people at a terminal and whole for programs."""
    lines = folded(line) if is_terminal(sys.stderr) else [line]
    echo("\n".join(lines), err=True)


def message_line(text: str) -> str:
    """Return a message as one line, without control characters or a full stop at its end."""
    return printable(text).removesuffix(".")


def inform(text: str) -> None:
    """Print to standard error what is no warning, such as how a table was read."""
    _echo(message_line(text))


def warn(warnings: Iterable[str], file: str = "") -> None:
    """Print warnings to standard error, with the file that they are about in front.

    Args:
        file: Empty where it need not be named.
    """
    for warning in warnings:
        named = warning if warning.startswith(file) else f"{file}: {warning}"
        _echo(f"Warning: {in_shown_units(message_line(named))}")
