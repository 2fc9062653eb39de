"""A crowd at work on one store, and what came of it."""

from __future__ import annotations

import json
import os
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import IO, Any

import numpy as np

from fleetcal.services.chosen_store import acting_as
from fleetcal.services.fleet.describe_fleet import load_fleet
from fleetcal.store import open_store
from tests.cli.invented_fleet import GROUPS, fleet_toml

from .looking import read_until, wrong_at_the_end
from .work import Line, Writer


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a crowd did, and everything that was wrong."""

    engine: str
    seconds: float
    lines: tuple[Line, ...]
    read_s: tuple[float, ...]
    wrong: tuple[str, ...]

    @property
    def acknowledged(self) -> list[Line]:
        """Writes that were reported as done."""
        return [line for line in self.lines if not line.error]

    @property
    def errors(self) -> list[Line]:
        """Writes that ended in an error."""
        return [line for line in self.lines if line.error]


def crowd(place: str, folder: Path, seconds: float, writers: int = 8, readers: int = 4) -> Outcome:
    """Let a crowd work on a new store, each as a process of its own, and judge what it leaves."""
    fleet = folder / "fleet.toml"
    fleet.write_text(fleet_toml(GROUPS), encoding="utf-8")
    donor = folder / "donor.sqlite3"
    acting_as("fleet load")  # a command that ran before in this process may have left its name
    for where in (place, str(donor)):
        load_fleet(where, fleet)
    began = time.monotonic()
    deadline = began + seconds
    children = [
        _fork(partial(_write, place, folder, donor, n, deadline), folder / f"write-{n}")
        for n in range(1, writers + 1)
    ]
    children += [
        _fork(partial(read_until, place, deadline), folder / f"read-{n}") for n in range(readers)
    ]
    failed = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
    taken = time.monotonic() - began
    lines = [Line(**row) for n in range(1, writers + 1) for row in _rows(folder / f"write-{n}")]
    reads = [row for n in range(readers) for row in _rows(folder / f"read-{n}")]
    wrong = [f"a process ended with {status}" for status in failed if status]
    wrong += [fault for row in reads for fault in row["wrong"]]
    wrong += [f"not explained: {line.error}" for line in lines if not line.explained]
    with open_store(place, create=False) as store:
        wrong += wrong_at_the_end(store, lines)
    engine = "server" if "://" in place else "file"
    return Outcome(
        engine=engine,
        seconds=taken,
        lines=tuple(lines),
        read_s=tuple(row["took_s"] for row in reads),
        wrong=tuple(wrong),
    )


def _write(
    place: str, folder: Path, donor: Path, number: int, deadline: float, log: IO[str]
) -> None:
    own = folder / f"own-{number}"
    own.mkdir()
    Writer(place, own, donor, number).work_until(deadline, log)


def _fork(deed: Callable[[IO[str]], None], log: Path) -> int:
    """Start a process that has everything loaded already, and return its number."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*multi-threaded.*")  # none of them at work
        child = os.fork()
    if child:
        return child
    status = 1
    try:
        with log.open("w", encoding="utf-8") as stream:
            deed(stream)
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(status)


def _rows(log: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]


def told(outcome: Outcome) -> Iterator[str]:
    """Yield what came of it, in lines."""
    done = outcome.acknowledged
    kinds = {
        kind: sum(line.kind == kind for line in done) for kind in ("import", "decide", "merge")
    }
    waits, took = (
        np.array([getattr(line, name) for line in done]) for name in ("wait_s", "took_s")
    )
    reads = np.array(outcome.read_s)
    yield (
        f"{outcome.engine}: {outcome.seconds:.0f} s, {len(done)} writes acknowledged ("
        + ", ".join(f"{count} {kind}" for kind, count in kinds.items())
        + f"), {len(outcome.errors)} errors told, {len(outcome.wrong)} things wrong"
    )
    yield (
        f"  wait for the write lock: median {np.median(waits):.3f} s, 99 % below "
        f"{np.quantile(waits, 0.99):.2f} s, longest {waits.max():.2f} s; "
        f"a write in all: median {np.median(took):.3f} s, longest {took.max():.2f} s"
    )
    yield (
        f"  {len(reads)} reads of the whole store: median {np.median(reads):.3f} s, "
        f"longest {reads.max():.2f} s"
    )
    each = [sum(line.label.split()[1].startswith(f"{n}-") for line in done) for n in range(1, 9)]
    yield f"  writes of each writer: {', '.join(map(str, each))}"
    for line in outcome.errors[:5]:
        yield f"  error told: {line.error.splitlines()[-1]}"
    for fault in outcome.wrong[:10]:
        yield f"  WRONG {fault}"
