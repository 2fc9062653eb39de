"""Processes that work: what is sent, what comes back, and what is left when they are lost."""

from __future__ import annotations

import os
import signal
from concurrent.futures import wait
from pathlib import Path

import pytest

from fleetcal.services.flights.worker_processes import WorkerLostError, WorkerProcesses


def own_number() -> int:
    return os.getpid()


def dies(mark: Path | None = None) -> str:
    """End this process at once; after the first time only say so, if there is a mark."""
    if mark is not None and mark.exists():
        return "again"
    if mark is not None:
        mark.touch()
    os.kill(os.getpid(), signal.SIGKILL)
    return "not reached"


def prints_and_raises() -> None:
    print("a print by accident")
    raise ValueError("of its own")


def alive(number: int) -> bool:
    """Return whether a process runs; one that has ended and is not yet buried does not."""
    try:
        state = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def test_work_is_done_elsewhere_and_errors_come_back_as_they_were() -> None:
    with WorkerProcesses(2) as processes:
        found = [processes.submit(own_number) for _ in range(6)]
        wrong = processes.submit(prints_and_raises)
        numbers = {one.result(60.0) for one in found}
        assert os.getpid() not in numbers
        assert len(numbers) <= 2
        with pytest.raises(ValueError, match="of its own"):
            wrong.result(60.0)
        assert processes.submit(max, 2, 3).result(60.0) == 3
    assert not any(alive(number) for number in numbers)


def test_a_lost_process_costs_its_own_task_alone() -> None:
    with WorkerProcesses(2) as processes:
        lost = processes.submit(dies)
        others = [processes.submit(pow, number, 2) for number in range(20)]
        assert [one.result(60.0) for one in others] == [number**2 for number in range(20)]
        with pytest.raises(WorkerLostError):
            lost.result(60.0)


def test_a_process_that_ended_while_it_had_nothing_to_do_costs_nothing() -> None:
    with WorkerProcesses(1) as processes:
        first = processes.submit(own_number).result(60.0)
        os.kill(first, signal.SIGKILL)
        while alive(first) or len(list(Path(f"/proc/{first}/task").iterdir())) > 1:
            pass  # its threads end one by one
        assert processes.submit(own_number).result(60.0) != first


def test_an_end_waits_for_nothing_that_is_being_done() -> None:
    processes = WorkerProcesses(2)
    processes.submit(own_number).result(60.0)
    work = [processes.submit(signal.pause) for _ in range(4)]
    processes.shutdown()
    wait(work[:1], 60.0)
    assert isinstance(work[0].exception(0), WorkerLostError)
    with pytest.raises(RuntimeError):
        processes.submit(own_number)
