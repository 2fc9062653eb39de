"""A command that is ended from outside: by Ctrl-C, or by the signal TERM.

What it was doing is taken back, as after an error, and the exit code is 128 more than the signal.
"""

from __future__ import annotations

import signal
import sys
import threading
from _thread import interrupt_main
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from types import FrameType
from typing import IO, Final, TypeAlias

import click

from fleetcal.cli.printer import echo

_LATER_S: Final = 0.01
_Report: TypeAlias = "Callable[[sys.UnraisableHookArgs], object]"


class Terminated(KeyboardInterrupt):
    """The signal TERM came."""


class Ended(click.ClickException):
    """An ended command on its way to the terminal.

    Args:
        message: How far it was, and what to do.
        by: What ended it.
    """

    def __init__(self, message: str, by: BaseException | None) -> None:
        super().__init__(message)
        self.signal = _signal_of(by)

    @property
    def exit_code(self) -> int:  # type: ignore[override]  # click reads it from the instance
        """Return 130 or 143, as a shell says of a program that such a signal ended."""
        return 128 + self.signal

    def show(self, file: IO[str] | None = None) -> None:
        """Print the message to standard error."""
        echo(self.message, err=True)


@contextmanager
def explained_ending() -> Iterator[None]:
    """Let a signal that ends the program end a block as Ctrl-C does, and word it."""
    try:
        with _terminated_by_signal():
            yield
    except KeyboardInterrupt as stop:
        raise Ended("Interrupted: nothing is half-done.", stop) from stop
    except click.Abort as stop:
        if isinstance(stop.__context__, KeyboardInterrupt):  # at a question
            raise Ended("Interrupted: nothing is half-done.", stop.__context__) from stop
        raise


@contextmanager
def _terminated_by_signal() -> Iterator[None]:
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before, report = signal.signal(signal.SIGTERM, _end), sys.unraisablehook
    sys.unraisablehook = partial(_sent_again, report)
    try:
        yield
    finally:
        sys.unraisablehook = report
        signal.signal(signal.SIGTERM, before)


def _sent_again(report: _Report, fault: sys.UnraisableHookArgs) -> None:
    """Send a signal again that came while Python ran a callback: it lets no exception out of one.

    The callback has ended when the signal comes again.
    """
    if isinstance(fault.exc_value, KeyboardInterrupt):
        later = threading.Timer(_LATER_S, interrupt_main, [_signal_of(fault.exc_value)])
        later.daemon = True
        later.start()
    else:
        report(fault)


def _signal_of(stop: BaseException | None) -> int:
    return signal.SIGTERM if isinstance(stop, Terminated) else signal.SIGINT


def _end(number: int, frame: FrameType | None) -> None:
    raise Terminated
