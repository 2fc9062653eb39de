"""Processes of this machine that do work, one task at a time each.

A pool of our own rather than that of `concurrent.futures`, because of what happens when
something ends that should not (``python -m tests.attacks.folder_faults`` measures it):

- a worker that is killed costs its own task alone, and another takes its place;
- workers share no lock and no queue, each has two pipes of its own: nothing is left to wait for
  when they are killed, which is how an interruption ends them;
- a worker sees its pipe close when this process ends, however it ends, and ends too;
- workers are sessions of their own: Ctrl-C at a terminal interrupts only the one who writes;
- they begin with the first task, and never run the script again that uses them.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import Executor, Future
from contextlib import suppress
from queue import SimpleQueue
from threading import Lock, Thread
from typing import IO, Any, Final, TypeAlias

LENGTH_BYTES: Final = 8
_PATIENCE_S: Final = 5.0
_Handed: TypeAlias = tuple[Future[Any], bytes]


class WorkerLostError(Exception):
    """The process that did the work ended before it was done."""


class WorkerProcesses(Executor):
    """Does work in processes of this machine.

    Args:
        count: Of processes.
    """

    def __init__(self, count: int) -> None:
        self._waiting: SimpleQueue[_Handed | None] = SimpleQueue()
        self._lock = Lock()
        self._ended = False
        self._processes: set[subprocess.Popen[bytes]] = set()
        self._feeders = [Thread(target=self._feed, daemon=True) for _ in range(count)]
        for feeder in self._feeders:
            feeder.start()

    def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        """Hand in work; it and what it is given are sent to a process."""
        if self._ended:
            raise RuntimeError("the processes have ended")
        future: Future[Any] = Future()
        self._waiting.put((future, pickle.dumps((work, given, named))))
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the processes at once; what they were doing is lost."""
        with self._lock:
            self._ended = True
            left = tuple(self._processes)
        for process in left:
            process.kill()
        for _ in self._feeders:
            self._waiting.put(None)
        if wait:  # not for ever: they hold nothing that anybody needs
            for process in left:
                with suppress(subprocess.TimeoutExpired):
                    process.wait(_PATIENCE_S)
            for feeder in self._feeders:
                feeder.join(_PATIENCE_S)

    def _feed(self) -> None:
        """Give one process its tasks, and begin another when it is lost."""
        process: subprocess.Popen[bytes] | None = None
        while (handed := self._waiting.get()) is not None:
            future, sent = handed
            if not future.set_running_or_notify_cancel():
                continue
            if process is not None and process.poll() is not None:
                self._bury(process)  # it was lost while it had nothing to do
                process = None
            try:
                process = process or self._begin()
                answered, answer = self._answer(process, sent)
            except Exception as error:
                self._bury(process)
                process, answered, answer = None, False, error
            if answered:
                future.set_result(answer)
            else:
                future.set_exception(answer)
        self._bury(process)

    def _begin(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._ended:
                raise WorkerLostError("the processes have ended")
            process = subprocess.Popen(
                [sys.executable, "-c", _BEGINNING.format(places=sys.path)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                start_new_session=True,
                # as the command line does: threads only wait for each other
                env={"OPENBLAS_NUM_THREADS": "1", **os.environ},
            )
            self._processes.add(process)
            return process

    def _answer(self, process: subprocess.Popen[bytes], sent: bytes) -> tuple[bool, Any]:
        """Let a process do a task; whether it was done, with its result or what it raised."""
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            write_frame(process.stdin, sent)
            received = read_frame(process.stdout)
        except OSError:
            received = None
        if received is None:
            raise WorkerLostError("the process that worked on it ended")
        done, result = pickle.loads(received)
        return bool(done), result

    def _bury(self, process: subprocess.Popen[bytes] | None) -> None:
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            with suppress(OSError):  # what could not be written is not written now
                pipe and pipe.close()
        with self._lock:
            self._processes.discard(process)


#: The worker finds the program where this process finds it.
_BEGINNING: Final = (
    "import sys; sys.path[:] = {places!r}; "
    "from fleetcal.services.flights.worker_loop import work; work()"
)


def write_frame(pipe: IO[bytes], content: bytes) -> None:
    """Write bytes to a pipe, their number in front."""
    pipe.write(len(content).to_bytes(LENGTH_BYTES, "little"))
    pipe.write(content)
    pipe.flush()


def read_frame(pipe: IO[bytes]) -> bytes | None:
    """Read bytes that `write_frame` wrote; None where the pipe ends."""
    head = pipe.read(LENGTH_BYTES)
    if len(head) < LENGTH_BYTES:
        return None
    length = int.from_bytes(head, "little")
    content = pipe.read(length)
    return content if len(content) == length else None
