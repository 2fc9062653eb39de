"""One command as a program of its own that something happens to, and what it left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import fleetcal

#: By which the processes of one trial are known, whoever began them.
_MARK = "FLEETCAL_TRIAL"
#: A process may take so long to see that it is alone.
_LEAVE_S = 3.0


@dataclass(frozen=True, kw_only=True)
class Ending:
    """How a program ended.

    Attributes:
        code: As a shell says it: 128 and the signal for one that a signal ended.
        hung: Whether it had to be killed.
        left: How many of its processes were still there afterwards.
    """

    code: int
    hung: bool
    left: int
    told: str
    seconds: float


def run_and_disturb(
    words: Sequence[object],
    after_s: float,
    disturb: Callable[[subprocess.Popen[bytes], str], None],
    patience_s: float = 20.0,
) -> Ending:
    """Run a command, let something happen to it, and see how it ends.

    Args:
        after_s: When it happens.
        disturb: Given the program and the mark of its processes.
        patience_s: After that it hangs.
    """
    mark = uuid.uuid4().hex
    with tempfile.TemporaryFile() as told:
        began = time.monotonic()
        program = subprocess.Popen(
            [sys.executable, "-m", "fleetcal", *map(str, words)],
            stdout=subprocess.DEVNULL,
            stderr=told,
            start_new_session=True,
            # who was started in the background hands on a deaf ear for it
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
            env={**os.environ, _MARK: mark, "PYTHONPATH": str(Path(fleetcal.__file__).parents[1])},
        )
        try:
            program.wait(after_s)
        except subprocess.TimeoutExpired:
            disturb(program, mark)
        hung = False
        try:
            program.wait(patience_s)
        except subprocess.TimeoutExpired:
            hung = True
            program.kill()
            program.wait()
        seconds = time.monotonic() - began
        left = _left_behind(mark)
        told.seek(0)
        words_told = told.read().decode("utf-8", "replace")
    code = program.returncode if program.returncode >= 0 else 128 - program.returncode
    return Ending(code=code, hung=hung, left=left, told=words_told, seconds=seconds)


def _left_behind(mark: str) -> int:
    deadline = time.monotonic() + _LEAVE_S
    while (left := processes_of(mark)) and time.monotonic() < deadline:
        time.sleep(0.05)
    for number in left:
        os.kill(number, signal.SIGKILL)
    return len(left)


def processes_of(mark: str) -> list[int]:
    """Return the numbers of the processes of a trial that run."""
    wanted, found = f"{_MARK}={mark}".encode(), []
    for place in Path("/proc").iterdir():
        try:
            if place.name.isdigit() and wanted in (place / "environ").read_bytes().split(b"\0"):
                found.append(int(place.name))
        except OSError:  # it ended meanwhile, or is somebody else's
            continue
    return sorted(found)


def interrupt_all(program: subprocess.Popen[bytes], mark: str) -> None:
    """Interrupt all its processes, as Ctrl-C at a terminal does."""
    os.killpg(program.pid, signal.SIGINT)


def terminate(program: subprocess.Popen[bytes], mark: str) -> None:
    """Ask the program alone to end."""
    program.terminate()


def kill(program: subprocess.Popen[bytes], mark: str) -> None:
    """Kill the program alone."""
    program.kill()


def kill_one_worker(program: subprocess.Popen[bytes], mark: str) -> None:
    """Kill one of the processes that it began, if there is one."""
    for number in processes_of(mark):
        if number != program.pid:
            os.kill(number, signal.SIGKILL)
            return


def kill_workers_always(program: subprocess.Popen[bytes], mark: str) -> None:
    """Kill its workers again and again for some seconds."""
    until = time.monotonic() + 4.0
    while program.poll() is None and time.monotonic() < until:
        for number in processes_of(mark):
            if number != program.pid:
                os.kill(number, signal.SIGKILL)
        time.sleep(0.05)
