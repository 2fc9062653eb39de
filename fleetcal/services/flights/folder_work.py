"""The work on a folder of flights that can be done in other processes, here or elsewhere.

Reading and solving need no store; what they take and give can be sent between processes.
With each task goes the mark of the program that will store its result (`worker_mark`).
A log goes as its bytes where the worker may not see the folder: the worker writes them into a
folder of its own, reads them there, and removes it.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

from fleetcal.errors import DataError
from fleetcal.services.flights.folder_list import FolderFlight
from fleetcal.services.flights.hand_choices import ChosenFlight
from fleetcal.services.flights.prepare_flight import PreparedFlight, read_chosen, solve_prepared
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.solve_flight import SolvedFlight
from fleetcal.services.flights.worker_mark import program_mark, refuse_other_program

Result = TypeVar("Result")


@dataclass(frozen=True)
class Trouble:
    """Why one flight could not be reduced."""

    message: str
    hint: str = ""


@dataclass(kw_only=True)
class Task:
    """Work on one flight; when it is sent, all but its mark travels packed.

    Attributes:
        mark: Of the program that handed it in.
        packed: The work as it came; to be opened only by the same program.
    """

    mark: dict[str, str]
    work: Callable[..., ChosenFlight | SolvedFlight | Trouble] | None = None
    given: tuple[object, ...] = ()
    packed: bytes = b""

    def __getstate__(self) -> tuple[dict[str, str], bytes]:
        return self.mark, self.packed or pickle.dumps((self.work, self.given))

    def __setstate__(self, state: tuple[dict[str, str], bytes]) -> None:
        self.mark, self.packed = state
        self.work, self.given = None, ()

    def __call__(self) -> ChosenFlight | SolvedFlight | Trouble:
        """Do the work.

        Raises:
            WorkersError: If the program here is another.
        """
        refuse_other_program(self.mark)
        work, given = pickle.loads(self.packed) if self.work is None else (self.work, self.given)
        result: ChosenFlight | SolvedFlight | Trouble = work(*given)
        return result


def do_task(task: Task) -> ChosenFlight | SolvedFlight | Trouble:
    """Do a task, wherever this process is."""
    return task()


def reading_task(
    flight: FolderFlight, settings: ReductionSettings, content: bytes | None = None
) -> Task:
    """Return the reading of a flight as a task.

    Args:
        content: Of the log, for a worker that may not see it.

    Raises:
        DataError: If the mapping that is to travel cannot be read.
    """
    if content is None:
        return _task(_read_one, flight, settings)
    mapping = flight.details.mapping
    try:
        mapped = None if mapping is None else mapping.read_bytes()
    except OSError as error:
        raise DataError(f"{mapping}: {error.strerror}", "check the name") from error
    return _task(_read_sent, flight, settings, content, mapped)


def solving_task(name: str, prepared: PreparedFlight, borrowed_mps: float | None) -> Task:
    """Return the solving of a flight as a task.

    Args:
        borrowed_mps: Leg scatter of earlier runs, m/s.
    """
    return _task(_solve_one, name, prepared, borrowed_mps)


def _task(work: Callable[..., ChosenFlight | SolvedFlight | Trouble], *given: object) -> Task:
    return Task(mark=program_mark(), work=work, given=given)


def _read_one(flight: FolderFlight, settings: ReductionSettings) -> ChosenFlight | Trouble:
    """Read one flight, with all samples of the log only where the weight depends on them."""

    def read() -> ChosenFlight:
        chosen = read_chosen(flight.path, flight.details, settings)
        if flight.details.takeoff_weight_kg is not None:
            return chosen
        return replace(chosen, flight=replace(chosen.flight, recorded=None))

    return _whatever_happens(flight.name, read)


def _read_sent(
    flight: FolderFlight, settings: ReductionSettings, content: bytes, mapped: bytes | None
) -> ChosenFlight | Trouble:
    """Read one flight whose bytes were sent."""
    with TemporaryDirectory(prefix="fleetcal-") as name:
        folders = Path(name, "log"), Path(name, "mapping")
        for folder in folders:
            folder.mkdir()
        path, mapping = folders[0] / flight.path.name, flight.details.mapping
        path.write_bytes(content)
        if mapping is not None and mapped is not None:
            mapping = folders[1] / mapping.name
            mapping.write_bytes(mapped)
        details = replace(flight.details, mapping=mapping)
        return _read_one(replace(flight, path=path, details=details), settings)


def _solve_one(
    name: str, prepared: PreparedFlight, borrowed_mps: float | None
) -> SolvedFlight | Trouble:
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
