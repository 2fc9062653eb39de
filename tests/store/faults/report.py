"""All commands on all engines, on several processors, and their table."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from functools import partial
from itertools import product
from pathlib import Path

from tests.postgres_server import serving

from .campaign import Tally, kill_job
from .places import Databases, Files

_TOLD = 5  # of what is wrong, for each line of the table
HEADING = (
    "engine  operation       kills  length s  killed from-to s  before  inside  commit  after"
    "   whole  finished kept  unfinished absent  either  again  left lying"
)


def kill_all(
    folder: Path,
    engines: Sequence[str],
    operations: Sequence[str],
    kills: int,
    *,
    seed: int,
    processes: int = 2,
    fsync: bool = False,
) -> Iterator[Tally]:
    """Share a number of kills out among engines and operations, and yield what came of each."""
    pairs = list(product(engines, operations))
    each = [kills // len(pairs) + (i < kills % len(pairs)) for i in range(len(pairs))]
    with ExitStack() as stack:
        server = stack.enter_context(serving(fsync=fsync)) if "server" in engines else ""
        pool = stack.enter_context(
            ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"))
        )
        jobs = []
        for number, ((engine, name), count) in enumerate(zip(pairs, each, strict=True)):
            inner = folder / f"job-{number}"
            make: Callable[[], Files | Databases] = (
                partial(Files, inner)
                if engine == "file"
                else partial(Databases, server, f"job_{number}")
            )
            jobs.append(pool.submit(kill_job, make, inner, name, count, seed + number))
        for job in jobs:
            yield job.result()


def line_of(one: Tally) -> str:
    """Return the line of the table for one command on one engine."""
    said = one.reached
    after = said["kept"] + said["acknowledged"]
    return (
        f"{one.engine:6}  {one.operation:14}  {one.kills:5}  {one.length_s:8.3f}  "
        f"{min(one.moments_s):7.3f}-{max(one.moments_s):<7.3f}  {said['started']:7}  "
        f"{said['begun']:6}  {said['keeping']:6}  {after:5}  "
        f"{one.whole:3}/{one.kills:<3} {one.kept:5}/{one.finished:<5}  "
        f"{one.absent:8}/{one.unfinished:<8}  {one.either:6}  {one.again:3}/{one.kills:<3}"
        f"  {one.leftovers:6}"
    )


def wrong_of(one: Tally) -> Iterator[str]:
    """Yield a line for each of the first things that were wrong."""
    yield from (f"WRONG {one.engine}: {fault}" for fault in one.wrong[:_TOLD])
    if len(one.wrong) > _TOLD:
        yield f"WRONG {one.engine}: and {len(one.wrong) - _TOLD} more of {one.operation}"
