"""Work that takes long: it goes on in a thread, says how far it is, and can be stopped."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from contextvars import copy_context
from dataclasses import dataclass, field
from itertools import count
from threading import Event, Thread
from typing import Final

from fleetcal.errors import FleetcalError, UnknownNameError

_REMEMBERED: Final = 30
RUNNING: Final = "running"
DONE: Final = "done"
STOPPED: Final = "stopped"
FAILED: Final = "failed"


class WorkStoppedError(Exception):
    """Somebody stopped the work."""


@dataclass(kw_only=True)
class LongWork:
    """One piece of work.

    Attributes:
        title: What it does.
        words: How far it is.
        state: One of ``running``, ``done``, ``stopped``, ``failed``.
        leads_to: Page to show afterwards, from the root of the pages.
        error: Why it failed.
        result: What it found, for the page that it leads to.
    """

    number: int
    title: str
    words: str = ""
    state: str = RUNNING
    leads_to: str = ""
    error: FleetcalError | None = None
    stopping: Event = field(default_factory=Event)
    result: object = None

    def say(self, words: str) -> None:
        """Note how far it is; a good place to be stopped.

        Raises:
            WorkStoppedError: If somebody stopped it.
        """
        self.words = words
        self.go_on()

    def go_on(self) -> None:
        """Do nothing, unless somebody stopped it.

        Raises:
            WorkStoppedError: If somebody stopped it.
        """
        if self.stopping.is_set():
            raise WorkStoppedError


class Works:
    """The work in progress, and the last that ended."""

    def __init__(self) -> None:
        self._works: dict[int, LongWork] = {}
        self._threads: dict[int, Thread] = {}
        self._numbers = count(1)

    def start(self, title: str, act: Callable[[LongWork], str]) -> LongWork:
        """Begin work.

        Args:
            act: Does it and returns the page to show afterwards. It calls `LongWork.say` between
                steps after which nothing is left half done.
        """
        work = LongWork(number=next(self._numbers), title=title)
        self._works[work.number] = work
        context = copy_context()
        thread = Thread(target=context.run, args=(_run, work, act), daemon=True)
        self._threads[work.number] = thread
        for number in list(self._works)[:-_REMEMBERED]:
            if self._works[number].state != RUNNING:
                del self._works[number], self._threads[number]
        thread.start()
        return work

    def find(self, number: int) -> LongWork:
        """Return work by its number.

        Raises:
            UnknownNameError: If there is none.
        """
        if number not in self._works:
            raise UnknownNameError(f"there is no work {number} to look at")
        return self._works[number]

    @property
    def running(self) -> tuple[LongWork, ...]:
        """Work that goes on."""
        return tuple(work for work in list(self._works.values()) if work.state == RUNNING)

    def stop_all(self, patience_s: float) -> None:
        """Stop what goes on, and wait for it.

        Args:
            patience_s: For each.
        """
        for work in self._works.values():
            work.stopping.set()
        for thread in self._threads.values():
            thread.join(patience_s)


def _run(work: LongWork, act: Callable[[LongWork], str]) -> None:
    try:
        work.leads_to = act(work)
        work.state = DONE
    except WorkStoppedError:
        work.state = STOPPED
    except FleetcalError as error:
        work.error, work.state = error, FAILED
    except Exception:  # the thread's end: the page says so, the terminal says where
        traceback.print_exc()
        work.error = FleetcalError(
            "something went wrong in the program itself",
            "nothing was half-written; what it was is printed where the program was started",
        )
        work.state = FAILED
