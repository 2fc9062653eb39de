"""Who works on a folder of flights: processes of this machine, or any executor.

An executor may work on another machine, which does not see the folder: to one that is given,
the bytes of a log travel with the task. Our own processes get its path.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from fleetcal.services.flights.worker_processes import WorkerProcesses

_MOST_PROCESSES: Final = 32
_WORTH_A_PROCESS: Final = 8  # flights
#: At a time, for an executor of which nobody says how many it works on.
_SOME: Final = 8


def _nothing() -> None:
    """Find nothing wrong."""


@dataclass(frozen=True, kw_only=True)
class Crew:
    """Who works on a folder.

    Attributes:
        at_once: Flights that it can work on at the same time.
        sees_files: Whether it can open the paths of this process.
        check: Raises WorkersError if nobody is left to work.
        gave_up: Errors by which it says that workers were lost, and that it has tried again.
    """

    executor: Executor
    at_once: int
    sees_files: bool
    check: Callable[[], None] = _nothing
    gave_up: tuple[type[BaseException], ...] = ()


def useful_processes(flights: int) -> int:
    """Return how many processes are worth beginning for a number of flights.

    Returns:
        At most the processors that this process may use; 1 for a few flights, which are done before
        another process has begun.
    """
    try:
        processors = len(os.sched_getaffinity(0))
    except AttributeError:  # not every system tells
        processors = os.cpu_count() or 1
    return max(1, min(processors, _MOST_PROCESSES, flights // _WORTH_A_PROCESS))


@contextmanager
def own_crew(count: int) -> Iterator[Crew]:
    """Yield processes of this machine, or this process alone if `count` is 1.

    Yields:
        They end with the block, at once.
    """
    if count <= 1:
        yield Crew(executor=_HereAndNow(), at_once=1, sees_files=True)
        return
    processes = WorkerProcesses(count)
    try:
        yield Crew(executor=processes, at_once=count, sees_files=True)
    finally:
        processes.shutdown()


def given_crew(executor: Executor, at_once: int | None = None) -> Crew:
    """Return who works for an executor that somebody else has begun, and will end.

    Args:
        executor: Of `concurrent.futures`, or one that is like it.
        at_once: Flights that it can work on at the same time, if that is known.
    """
    return Crew(executor=executor, at_once=at_once or _SOME, sees_files=False)


class _HereAndNow(Executor):
    """Does the work in this process, when it is handed in."""

    def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        done: Future[Any] = Future()
        done.set_result(work(*given, **named))
        return done
