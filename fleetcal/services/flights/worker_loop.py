"""What a worker process does: tasks from one pipe, answers into another, until the first closes.

See `worker_processes`, which begins it.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
from queue import SimpleQueue
from threading import Thread
from typing import Any

from fleetcal.services.flights.worker_processes import read_frame, write_frame


def work() -> None:
    """Do tasks until the process that gives them ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what is printed by accident is no answer
    tasks: SimpleQueue[bytes] = SimpleQueue()
    Thread(target=_listen, args=(tasks,), daemon=True).start()
    while True:
        answer = _answer(tasks.get())
        try:
            write_frame(answers, answer)
        except OSError:  # nobody is there to hear it
            os._exit(0)


def _listen(tasks: SimpleQueue[bytes]) -> None:
    """Take tasks, also while one is being done, so that the end of the other side is seen."""
    while (task := read_frame(sys.stdin.buffer)) is not None:
        tasks.put(task)
    os._exit(0)


def _answer(task: bytes) -> bytes:
    done: bool
    result: Any
    try:
        function, given, named = pickle.loads(task)
        done, result = True, function(*given, **named)
    except Exception as error:
        done, result = False, error
    try:
        return pickle.dumps((done, result))
    except Exception as error:
        return pickle.dumps((False, RuntimeError(f"the answer cannot be sent: {error}")))
