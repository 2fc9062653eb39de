"""The work on a folder of flights that can be done in other processes.

Reading and solving need no store; what they take and give can be sent between
processes. The work is done by spawned ones, which inherit no open store.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any, Final, TypeVar

from fleetcal.errors import DataError
from fleetcal.services.flights.folder_list import FolderFlight
from fleetcal.services.flights.hand_choices import ChosenFlight
from fleetcal.services.flights.prepare_flight import PreparedFlight, read_chosen, solve_prepared
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.solve_flight import SolvedFlight

_MOST_PROCESSES: Final = 32
_WORTH_A_PROCESS: Final = 8  # flights

Result = TypeVar("Result")


@dataclass(frozen=True)
class Trouble:
    """Why one flight could not be reduced."""

    message: str
    hint: str = ""


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


def read_one(flight: FolderFlight, settings: ReductionSettings) -> ChosenFlight | Trouble:
    """Read one flight.

    Returns:
        With all samples of the log only where the weight depends on them.
    """

    def read() -> ChosenFlight:
        chosen = read_chosen(flight.path, flight.details, settings)
        if flight.details.takeoff_weight_kg is not None:
            return chosen
        return replace(chosen, flight=replace(chosen.flight, recorded=None))

    return _whatever_happens(flight.name, read)


def solve_one(
    name: str, prepared: PreparedFlight, borrowed_mps: float | None
) -> SolvedFlight | Trouble:
    """Solve one flight.

    Args:
        borrowed_mps: Leg scatter of earlier runs, m/s.
    """
    return _whatever_happens(name, lambda: solve_prepared(prepared, borrowed_mps))


def explained(work: Callable[[], Result]) -> Result | Trouble:
    """Do some work, or return what is wrong with the data of this one flight.

    Returns:
        What the work returns, or Trouble.
    """
    try:
        return work()
    except DataError as error:
        return Trouble(error.message, error.hint)


def _whatever_happens(name: str, work: Callable[[], Result]) -> Result | Trouble:
    """Do some work so that not even a slip of the program stops the other flights."""
    try:
        return explained(work)
    except Exception as error:
        return Trouble(f"{name}: unforeseen {type(error).__name__}: {error}", "please report it")


class _HereAndNow(Executor):
    """Does the work in this process, when it is handed in."""

    def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        done: Future[Any] = Future()
        done.set_result(work(*given, **named))
        return done


@contextmanager
def workers(count: int) -> Iterator[Executor]:
    """Yield what does the work: other processes, or this one if `count` is 1.

    Yields:
        What was not begun when the block is left is not begun any more.
    """
    if count == 1:
        yield _HereAndNow()
        return
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, mp_context=context, initializer=_ignore_interrupt)
    try:
        with _interrupt_ignored():
            for _ in range(count):
                pool.submit(_nothing)  # begins the processes, which inherit what they ignore
        yield pool
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _interrupt_ignored() -> Iterator[None]:
    """Ignore an interruption at the keyboard; only the main thread can."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _nothing() -> None:
    """Do nothing, in another process."""


def _ignore_interrupt() -> None:
    """Leave an interruption at the keyboard to the process that writes the store."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
