"""End what reduces a folder of logs, and count: python -m tests.attacks.folder_faults.

A trial reduces a folder with two workers into a store of its own; at a random moment something
happens. Counted are programs that hang, processes left behind, and stores that do not hold exactly
the first flights, each complete. Then the same command must go on and end as if nothing had been.
"""

from __future__ import annotations

import argparse
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, TypeAlias

from tests.attacks.trial import (
    Ending,
    interrupt_all,
    kill,
    kill_one_worker,
    kill_workers_always,
    run_and_disturb,
    terminate,
)
from tests.cli.command_line import Program
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.dask_cluster import Cluster, cluster
from tests.one_airframe import FLEET
from tests.store.faults.judging import faults_of

FLIGHTS = 12
WHO = ("--airframe", "C-01", "--weight-kg", "580", "--date", "2024-05-02")
#: Rows of one flight, each with the table that it is in.
Flight: TypeAlias = list[tuple[str, dict[str, Any]]]
WHEN = {"added_at", "decided_at"}
#: Longer than a cluster is given to get a worker back.
_CLUSTER_PATIENCE_S = 60.0


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One kind of fault.

    Attributes:
        codes: Exit codes that it may end in.
        known: Whether the folder is in the store already.
        at_cluster: Whether the workers are those of a cluster; what it is done to then.
    """

    what: str
    disturb: Callable[[subprocess.Popen[bytes], str], None]
    codes: tuple[int, ...]
    known: bool = False
    at_cluster: Callable[[Cluster], None] | None = None


def _kill_worker(made: Cluster) -> None:
    made.workers[0].kill()


def _kill_workers(made: Cluster) -> None:
    for worker in made.workers:
        worker.kill()


def _kill_scheduler(made: Cluster) -> None:
    made.scheduler.kill()


def _nothing(*given: object) -> None:
    """Let it be."""


FAULTS = {
    "interrupted": Fault(what="Ctrl-C", disturb=interrupt_all, codes=(0, 130)),
    "interrupted-known": Fault(
        what="Ctrl-C, all stored before", disturb=interrupt_all, codes=(0, 130), known=True
    ),
    "terminated": Fault(what="TERM", disturb=terminate, codes=(0, 143)),
    "killed": Fault(what="KILL", disturb=kill, codes=(0, 137)),
    "worker-killed": Fault(what="KILL of a worker", disturb=kill_one_worker, codes=(0,)),
    "workers-killed": Fault(
        what="KILL of every worker for 4 s", disturb=kill_workers_always, codes=(0, 3)
    ),
    "cluster-interrupted": Fault(
        what="cluster: Ctrl-C", disturb=interrupt_all, codes=(0, 130), at_cluster=_nothing
    ),
    "cluster-killed": Fault(
        what="cluster: KILL of the writer", disturb=kill, codes=(0, 137), at_cluster=_nothing
    ),
    "cluster-worker": Fault(
        what="cluster: KILL of a worker", disturb=_nothing, codes=(0,), at_cluster=_kill_worker
    ),
    "cluster-workers": Fault(
        what="cluster: KILL of all workers",
        disturb=_nothing,
        codes=(0, 7),
        at_cluster=_kill_workers,
    ),
    "cluster-scheduler": Fault(
        what="cluster: KILL of the scheduler",
        disturb=_nothing,
        codes=(0, 7),
        at_cluster=_kill_scheduler,
    ),
}


@dataclass(kw_only=True)
class Tally:
    """What the trials of one fault came to."""

    trials: int = 0
    hangs: int = 0
    left: int = 0
    half: int = 0
    stuck: int = 0
    codes: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    def line(self, what: str) -> str:
        """Return one line of the table."""
        codes = ", ".join(f"{code} x {count}" for code, count in sorted(self.codes.items()))
        return (
            f"{what:32} {self.trials:6} {self.hangs:6} {self.left:8} {self.half:5} "
            f"{self.stuck:12}  {codes}"
        )


HEADING = f"{'fault':32} trials  hangs  orphans  half  not going on  exit codes"


def flights_of(place: Path) -> list[Flight]:
    """Return the rows of each flight in a store, but for the times of storing."""
    with closing(sqlite3.connect(place)) as connection:
        connection.row_factory = sqlite3.Row
        rows = {
            table: [dict(row) for row in connection.execute(f"SELECT * FROM {table} ORDER BY id")]
            for table in ("source_file", "sortie", "leg", "calibration_point", "uncertainty_term")
        }
    flights = []
    for sortie in rows["sortie"]:
        of = {"sortie": [sortie]}
        of["source_file"] = _with(rows["source_file"], "id", {sortie["source_file_id"]})
        for table in ("leg", "calibration_point"):
            of[table] = _with(rows[table], "sortie_id", {sortie["id"]})
        points = {row["id"] for row in of["calibration_point"]}
        of["uncertainty_term"] = _with(rows["uncertainty_term"], "calibration_point_id", points)
        flights.append(
            [(t, {k: row[k] for k in row if k not in WHEN}) for t in of for row in of[t]]
        )
    stray = sum(map(len, rows.values())) - sum(map(len, flights))
    if stray:
        flights.append([("rows of no flight", {"count": stray})])
    return flights


def _with(rows: list[dict[str, Any]], name: str, values: set[Any]) -> list[dict[str, Any]]:
    return [row for row in rows if row[name] in values]


class Field:
    """A folder of logs, a store to begin with, and what it must hold in the end."""

    def __init__(self, folder: Path, flights: int) -> None:
        self.folder, self.logs = folder, folder / "logs"
        self.logs.mkdir()
        for number in range(flights):
            card = Card(airspeeds_kt=(90.0,), legs=4, leg_s=60)
            text = log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=number))
            (self.logs / f"flight {number:02d}.csv").write_text(text)
        self.begun, self.full = folder / "begun.store", folder / "full.store"
        (folder / "fleet.toml").write_text(FLEET)
        Program(str(self.begun)).output("fleet", "load", folder / "fleet.toml")
        shutil.copy(self.begun, self.full)
        done = run_and_disturb(self.words(self.full), 600.0, _nothing)
        assert done.code == 0, done.told
        self.usual_s, self.expected = done.seconds, flights_of(self.full)
        again = run_and_disturb(self.words(self.full), 600.0, _nothing)
        self.usual_known_s = again.seconds

    def words(self, store: Path, made: Cluster | None = None) -> tuple[object, ...]:
        """Return the command."""
        workers = ("--processes", 2) if made is None else ("--workers-at", made.address)
        return ("--store", store, "reduce", self.logs, *WHO, *workers)

    def trial(self, fault: Fault, at: float, name: str, tally: Tally) -> None:
        """Run one trial.

        Args:
            at: When it happens, as a part of the usual time.
        """
        store = self.folder / name
        shutil.copy(self.full if fault.known else self.begun, store)
        with ExitStack() as stack:
            made = None
            disturb, patience_s = fault.disturb, 20.0 + self.usual_s
            if fault.at_cluster is not None:
                made = stack.enter_context(cluster(self.folder / f"{name}-cluster"))
                disturb = partial(_at_both, fault, made)
                patience_s += _CLUSTER_PATIENCE_S
            usual_s = self.usual_known_s if fault.known else self.usual_s
            ending = run_and_disturb(self.words(store, made), at * usual_s, disturb, patience_s)
        self._judge(fault, ending, store, tally)
        store.unlink()

    def _judge(self, fault: Fault, ending: Ending, store: Path, tally: Tally) -> None:
        found = flights_of(store)
        half = faults_of(str(store))
        skipped = ending.code == 3  # those that were lost twice are left out, whole
        if not skipped and found != self.expected[: len(found)]:
            half.append("not the first flights, each complete")
        again = run_and_disturb(self.words(store), 600.0, _nothing)
        ended = flights_of(store)
        same = len(ended) == FLIGHTS if skipped else ended == self.expected
        tally.trials += 1
        tally.hangs += ending.hung
        tally.left += ending.left
        tally.half += bool(half)
        tally.stuck += again.code != 0 or not same
        tally.codes[ending.code] += 1
        wrong = [*half]
        if ending.code not in fault.codes or "Traceback" in ending.told:
            wrong.append(f"ended in {ending.code}: {ending.told.strip()[-600:]}")
        if again.code != 0 or not same:
            wrong.append(f"then {again.code}, {len(ended)} flights: {again.told.strip()}")
        if ending.hung or ending.left:
            wrong.append(f"hung {ending.hung}, {ending.left} processes left")
        tally.wrong += wrong


def _at_both(fault: Fault, made: Cluster, program: subprocess.Popen[bytes], mark: str) -> None:
    assert fault.at_cluster is not None
    fault.at_cluster(made)
    fault.disturb(program, mark)


def trials(
    names: Sequence[str], count: int, seed: int, folder: Path
) -> Iterator[tuple[str, Tally]]:
    """Run so many trials of each fault."""
    place, choose = Field(folder, FLIGHTS), random.Random(seed)
    for name in names:
        tally = Tally()
        for number in range(count):
            at = choose.uniform(0.02, 1.0)
            place.trial(FAULTS[name], at, f"{name}-{number}.store", tally)
        yield name, tally


def main() -> int:
    """Print the table; return 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=12, help="of each fault")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--fault", action="append", choices=list(FAULTS))
    chosen = parser.parse_args()
    signal.signal(signal.SIGINT, signal.default_int_handler)
    total = wrong = 0
    print(HEADING)
    with tempfile.TemporaryDirectory(prefix="fleetcal-folder-faults-") as folder:
        for name, tally in trials(
            chosen.fault or list(FAULTS), chosen.trials, chosen.seed, Path(folder)
        ):
            print("\n".join([tally.line(FAULTS[name].what), *tally.wrong]), flush=True)
            total += tally.trials
            wrong += len(tally.wrong)
    print(f"{total} trials, wrong: {wrong}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
