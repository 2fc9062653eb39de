"""Run a command in a forked process, know how far it has got, and kill it there.

The process that forks has loaded everything a command needs, so that a kill costs
what the command costs. It holds no connection while it forks: SQLite's must not cross a fork.
"""

from __future__ import annotations

import os
import select
import signal
import struct
import sys
import time
import traceback
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, event

from fleetcal.store.engines.kinds import WRITING

#: How far a command has got: started, holding the write lock, told the database to keep the
#: transaction, heard that it is kept, and reported success to whoever called.
STEPS = ("started", "begun", "keeping", "kept", "acknowledged")
_MARK = struct.Struct("<Bq")
_PATIENCE_S = 600.0


@dataclass(frozen=True)
class Moment:
    """When to kill: so many seconds after a step was reached."""

    step: str
    delay_s: float


@dataclass(frozen=True)
class Ended:
    """How a command ended: the steps it reached, each at its time in seconds, and its words."""

    reached: dict[str, float]
    killed_at_s: float | None
    exit_status: int
    said: str

    @property
    def last(self) -> str:
        """The furthest step."""
        return max(self.reached, key=STEPS.index, default="started")


def run_to_the_end(deed: Callable[[], None], log: Path) -> Ended:
    """Run a deed in a process of its own and let it finish."""
    return run_and_kill(deed, log, None)


def run_and_kill(deed: Callable[[], None], log: Path, moment: Moment | None) -> Ended:
    """Run a deed in a process of its own and kill that at a moment, if it lives so long."""
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        # Libraries for number work hold threads of their own; none of them is at work here.
        warnings.filterwarnings("ignore", message=".*multi-threaded.*")
        child = os.fork()
    if child == 0:
        os.close(reading)
        _be_the_child(deed, log, writing)
    os.close(writing)
    reached: dict[str, float] = {}
    killed_at = None
    try:
        if moment is None:
            _read_marks(reading, reached, until=None)
        elif _read_marks(reading, reached, until=moment.step):
            _sleep_until(reached[moment.step] + moment.delay_s)
            os.kill(child, signal.SIGKILL)
            killed_at = time.monotonic()
            _read_marks(reading, reached, until=None)
    finally:
        os.close(reading)
        status = os.waitpid(child, 0)[1]
    begun = reached.get("started", 0.0)
    if os.WIFEXITED(status):  # it was quicker than the signal
        killed_at = None
    return Ended(
        {step: at - begun for step, at in reached.items()},
        None if killed_at is None else killed_at - begun,
        os.waitstatus_to_exitcode(status),
        log.read_text(encoding="utf-8", errors="replace"),
    )


def _be_the_child(deed: Callable[[], None], log: Path, writing: int) -> None:
    """Do the deed, telling each step, and leave without the parent's clean-up."""
    status = 1
    try:
        output = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(output, 1)
        os.dup2(output, 2)
        # A test runner has put others in their places.
        sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w", buffering=1)
        tell = _teller(writing)
        _watch_transactions(tell)
        tell("started")
        deed()
        tell("acknowledged")
        sys.stdout.flush()
        status = 0
    except BaseException:
        os.write(2, traceback.format_exc().encode())
    finally:
        os._exit(status)


def _teller(pipe: int) -> Callable[[str], None]:
    def tell(step: str) -> None:
        os.write(pipe, _MARK.pack(STEPS.index(step), time.monotonic_ns()))

    return tell


def _watch_transactions(tell: Callable[[str], None]) -> None:
    """Tell when a writing transaction begins, is about to be kept, and is kept.

    What reads another store beside it commits too, on a connection of its own.
    """
    watched: set[type] = set()
    writing: list[Any] = []

    @event.listens_for(Engine, "begin")
    def begin(connection: Connection) -> None:
        if not connection.get_execution_options().get(WRITING):
            return
        kind = type(connection.dialect)
        if kind not in watched:
            watched.add(kind)
            _wrap_commit(kind)
        writing.append(connection.connection.dbapi_connection)
        tell("begun")

    def _wrap_commit(kind: Any) -> None:
        keep = kind.do_commit

        def do_commit(self: Any, connection: Any) -> None:
            is_the_writer = getattr(connection, "dbapi_connection", connection) in writing
            if is_the_writer:
                tell("keeping")
            keep(self, connection)
            if is_the_writer:
                writing.clear()
                tell("kept")

        kind.do_commit = do_commit


def _read_marks(pipe: int, reached: dict[str, float], until: str | None) -> bool:
    """Take in steps until one of them, or until the child is gone; False if it never came."""
    while until is None or until not in reached:
        if not select.select([pipe], [], [], _PATIENCE_S)[0]:
            raise TimeoutError("the command neither went on nor ended")
        mark = os.read(pipe, _MARK.size)  # so few bytes arrive as they were written
        if not mark:
            return False
        number, at_ns = _MARK.unpack(mark)
        reached[STEPS[number]] = at_ns / 1e9
    return True


def _sleep_until(moment_s: float) -> None:
    left = moment_s - time.monotonic()
    if left > 0.0:
        time.sleep(left)
