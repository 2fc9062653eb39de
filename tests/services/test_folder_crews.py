"""A folder of flights, whoever computes: processes, threads, a cluster, and who is lost."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

import fleetcal
from fleetcal.errors import WorkersError
from fleetcal.services.flights.cluster import cluster_crew
from fleetcal.services.flights.folder_crew import Crew, given_crew, own_crew
from fleetcal.services.flights.folder_list import flights_in_folder
from fleetcal.services.flights.folder_work import Task, do_task
from fleetcal.services.flights.reduce_folder import FolderReduction, reduce_folder
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.worker_mark import program_mark
from fleetcal.services.flights.worker_processes import WorkerLostError
from fleetcal.store import open_store
from tests.attacks.folder_faults import Flight, flights_of
from tests.cli.command_line import Program, assert_explained
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.dask_cluster import Cluster, cluster
from tests.one_airframe import FLEET

pytestmark = pytest.mark.long

WHO = ("--airframe", "C-01", "--weight-kg", "580", "--date", "2024-05-02")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of six flights, one of which is none, and a store to begin with."""
    folder = tmp_path_factory.mktemp("crews")
    logs = folder / "logs"
    logs.mkdir()
    for number in range(3):
        card = Card(airspeeds_kt=(90.0,), legs=4, leg_s=60)
        text = log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=number))
        (logs / f"flight {number}.csv").write_text(text)
    (logs / "flight 3.csv").write_text(leg_sheet(3, legs=3))
    (logs / "flight 4.csv").write_text("no log\n")
    (logs / "flight 5.csv").write_text(leg_sheet(5, legs=3).replace("4500", "5500"))
    (folder / "mapping.toml").write_text('north = "true"\n')
    (folder / "fleet.toml").write_text(FLEET)
    Program(str(folder / "begun.store")).output("fleet", "load", folder / "fleet.toml")
    return folder


def reduced(place: Path, crew: Crew, name: str) -> tuple[FolderReduction, list[Flight]]:
    """Reduce the folder into a store of its own."""
    store = shutil.copy(place / "begun.store", place / f"{name}.store")
    details = FlightDetails(airframe="C-01", weight_kg=580.0, flown_on=date(2024, 5, 2))
    mapped = replace(details, mapping=place / "mapping.toml")  # legs written by hand take none
    with open_store(str(store), create=False) as opened:
        flights = [
            replace(flight, details=mapped) if number < 3 else flight
            for number, flight in enumerate(flights_in_folder(place / "logs", details))
        ]
        found = reduce_folder(opened, flights, ReductionSettings(), crew)
    return found, flights_of(Path(store))


@pytest.fixture(scope="module")
def expected(place: Path) -> tuple[FolderReduction, list[Flight]]:
    with own_crew(1) as crew:
        found = reduced(place, crew, "alone")
    assert (found[0].stored, found[0].failed) == (5, 1), found[0].files
    assert found[0].files[4].error.startswith("flight 4.csv")
    return found


@pytest.fixture(scope="module")
def two_workers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    with cluster(tmp_path_factory.mktemp("cluster") / "made") as made:
        yield made


def test_processes_of_our_own_give_what_one_gives(
    place: Path, expected: tuple[FolderReduction, list[Flight]]
) -> None:
    with own_crew(2) as crew:
        assert reduced(place, crew, "own") == expected


@pytest.mark.parametrize("kind", ["threads", "processes"])
def test_any_executor_that_is_given_gives_what_one_process_gives(
    kind: str, place: Path, expected: tuple[FolderReduction, list[Flight]]
) -> None:
    begin: Callable[[], Executor] = lambda: ThreadPoolExecutor(2)  # noqa: E731
    if kind == "processes":
        begin = lambda: ProcessPoolExecutor(2, mp_context=get_context("spawn"))  # noqa: E731
    with begin() as executor:
        assert reduced(place, given_crew(executor, 2), kind) == expected
        assert executor.submit(max, 1, 2).result() == 2, "whoever began it ends it"


def test_a_cluster_that_does_not_see_the_folder_gives_what_one_process_gives(
    place: Path, expected: tuple[FolderReduction, list[Flight]], two_workers: Cluster
) -> None:
    with cluster_crew(two_workers.address) as crew:
        assert crew.at_once == 2
        assert not crew.sees_files
        assert reduced(place, crew, "cluster") == expected


def test_the_command_takes_the_address_of_a_cluster(place: Path, two_workers: Cluster) -> None:
    store = shutil.copy(place / "begun.store", place / "by-command.store")
    words = ("reduce", place / "logs", *WHO)
    cut = Program(str(store)).run(*words, "--workers-at", two_workers.address)
    assert cut.exit_code == 3
    assert "5 stored now" in cut.stdout
    both = Program(str(store)).run(*words, "--workers-at", "tcp://[::1]:1", "--processes", 2)
    assert both.exit_code == 2
    assert "leave it or '--workers-at' out" in both.stderr


class Losing(Executor):
    """Does the work at once, but loses some of what is handed in."""

    def __init__(self, *lost: int) -> None:
        self.lost, self.count = lost, 0

    def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.count += 1
        if self.count in self.lost:
            future.set_exception(WorkerLostError("lost"))
        else:
            future.set_result(work(*given, **named))
        return future


def test_a_flight_that_is_lost_once_is_tried_again(
    place: Path, expected: tuple[FolderReduction, list[Flight]]
) -> None:
    executor = Losing(1, 4)
    assert reduced(place, given_crew(executor, 1), "once") == expected
    assert executor.count == 13, "six readings, five solvings, two of them again"


def test_a_flight_that_is_lost_twice_is_named_and_the_others_are_stored(place: Path) -> None:
    found, flights = reduced(place, given_crew(Losing(1, 3), 1), "twice")
    lost = found.files[0]
    assert lost.outcome == "failed"
    assert "flight 0.csv: the worker that had it ended" in lost.error
    assert (found.stored, found.failed, len(flights)) == (4, 2, 4)


def test_an_executor_that_takes_no_work_is_refused_in_our_words(place: Path) -> None:
    executor = ThreadPoolExecutor(1)
    executor.shutdown()
    with pytest.raises(WorkersError, match="the workers cannot be used") as refused:
        reduced(place, given_crew(executor), "ended")
    assert "goes on from there" in refused.value.hint


def test_a_task_is_refused_where_the_program_is_another() -> None:
    other = {**program_mark(), "fleetcal": "9.9.9 (00000000)", "numpy": "1.0"}
    task = Task(mark=other, packed=b"never opened")
    with pytest.raises(WorkersError, match=r"fleetcal \d.* instead of 9\.9\.9 .*numpy .* 1\.0"):
        do_task(task)


def test_an_address_where_no_scheduler_answers_is_refused(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fleetcal.services.flights.cluster._ANSWERS_S", 1.0)
    store = shutil.copy(place / "begun.store", place / "nobody.store")
    words = ("reduce", place / "logs", *WHO, "--workers-at")
    for address in ("tcp://127.0.0.1:9", "nonsense://x", ""):
        result = Program(str(store)).run(*words, address)
        assert_explained(result, 7, f"no scheduler answers at {address}")
    assert flights_of(Path(store)) == []


def test_workers_of_another_version_are_refused_and_nothing_is_stored(
    place: Path, tmp_path: Path
) -> None:
    room = Path(fleetcal.__file__).parent
    shutil.copytree(room, tmp_path / "other" / "fleetcal")
    (tmp_path / "other" / "fleetcal" / "version.py").write_text('__version__ = "9.9.9"\n')
    store = shutil.copy(place / "begun.store", place / "other.store")
    with cluster(tmp_path / "cluster", places=str(tmp_path / "other")) as made:
        words = ("reduce", place / "logs", *WHO, "--workers-at", made.address)
        result = Program(str(store)).run(*words)
    assert_explained(result, 7, "fleetcal 9.9.9", "instead of")
    assert flights_of(Path(store)) == []
