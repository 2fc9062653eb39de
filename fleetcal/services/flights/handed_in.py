"""Work on one flight that was handed in to a crew, and what becomes of it when a worker is lost."""

from __future__ import annotations

from concurrent.futures import BrokenExecutor, CancelledError, Future
from dataclasses import dataclass
from typing import Any, Final

from fleetcal.errors import WorkersError
from fleetcal.services.flights.folder_crew import Crew
from fleetcal.services.flights.folder_work import Task, Trouble, do_task
from fleetcal.services.flights.worker_processes import WorkerLostError

#: How often it is looked whether anybody is left to work, s.
_LOOKS_S: Final = 1.0


@dataclass(kw_only=True)
class HandedIn:
    """Work on one flight that somebody does or will do."""

    crew: Crew
    name: str
    task: Task
    work: Future[Any]

    def result(self) -> Any:
        """Wait for the work; if its worker is lost, hand it in once more.

        Returns:
            What the work gives, or the Trouble that the next worker was lost too.

        Raises:
            WorkersError: If nobody is left to work, or a worker's program is another one.
        """
        try:
            return self._found()
        except (WorkerLostError, CancelledError):
            self.crew.check()
            self.work = _submitted(self.crew, self.task)
        except self.crew.gave_up:
            self.crew.check()
            return self._lost()
        try:
            return self._found()
        except self._losses:
            self.crew.check()
            return self._lost()

    def let_go(self) -> None:
        """Let it not be begun if it was not."""
        self.work.cancel()

    def _found(self) -> Any:
        try:
            while True:
                try:
                    return self.work.result(_LOOKS_S)
                except TimeoutError:
                    if self.work.done():
                        return self.work.result()
                    self.crew.check()
        except self._losses:
            raise
        except WorkersError:
            raise
        except Exception as error:
            raise _useless(error) from error

    @property
    def _losses(self) -> tuple[type[BaseException], ...]:
        return WorkerLostError, CancelledError, *self.crew.gave_up

    def _lost(self) -> Trouble:
        return Trouble(
            f"{self.name}: the worker that had it ended, and so did the one that tried again",
            "it may need more memory than there is: try it alone",
        )


def hand_in(crew: Crew, name: str, task: Task) -> HandedIn:
    """Hand in work on a flight.

    Raises:
        WorkersError: If nobody takes any work.
    """
    return HandedIn(crew=crew, name=name, task=task, work=_submitted(crew, task))


def _submitted(crew: Crew, task: Task) -> Future[Any]:
    try:
        return crew.executor.submit(do_task, task)
    except RuntimeError as error:  # of one that is broken, or has ended
        raise _useless(error) from error


def _useless(error: Exception) -> WorkersError:
    """Word that the workers cannot be used."""
    if isinstance(error, ImportError | AttributeError):
        return WorkersError(
            f"a worker has no fleetcal, or another one: {error}",
            "install this version of fleetcal on every worker",
        )
    trouble = "work no longer" if isinstance(error, BrokenExecutor) else "cannot be used"
    return WorkersError(
        f"the workers {trouble}: {type(error).__name__}: {error}",
        "every flight that was stored is complete; the same command goes on from there",
    )
