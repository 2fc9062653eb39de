"""A Dask cluster on this machine: a scheduler and workers as processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import fleetcal

_PATIENCE_S = 120.0


@dataclass
class Cluster:
    """A cluster on the loopback address.

    Attributes:
        address: Of the scheduler.
    """

    address: str
    scheduler: subprocess.Popen[bytes]
    workers: list[subprocess.Popen[bytes]]


@contextmanager
def cluster(folder: Path, workers: int = 2, places: str | None = None) -> Iterator[Cluster]:
    """Yield a cluster; its processes end with the block.

    Args:
        folder: Its own, for files and logs.
        places: Where its workers look for the program; where this process does if left out.
    """
    folder.mkdir()
    said = folder / "scheduler.json"
    begun: list[subprocess.Popen[bytes]] = []
    try:
        begun.append(_begin(folder, "dask_scheduler", "--port", "0", "--scheduler-file", str(said)))
        address = ""
        deadline = time.monotonic() + _PATIENCE_S
        while not address and time.monotonic() < deadline:
            time.sleep(0.1)
            try:
                address = json.loads(said.read_text())["address"]
            except (OSError, ValueError):  # not written, or not all of it
                continue
        for _ in range(workers):
            options = ("--no-nanny", "--nthreads", "1", "--local-directory", str(folder), address)
            begun.append(_begin(folder, "dask_worker", *options, places=places))
        _wait_for(address, workers)
        yield Cluster(address, begun[0], begun[1:])
    finally:
        for process in begun:
            process.kill()
            process.wait()


def _begin(
    folder: Path, what: str, *options: str, places: str | None = None
) -> subprocess.Popen[bytes]:
    own = str(Path(fleetcal.__file__).parents[1])
    with (folder / "cluster.log").open("ab") as log:
        return subprocess.Popen(
            [
                *(sys.executable, "-m", f"distributed.cli.{what}"),
                *("--host", "127.0.0.1", "--no-dashboard", *options),
            ],
            stdout=log,
            stderr=log,
            cwd=folder,
            env={**os.environ, "PYTHONPATH": places or own, "OPENBLAS_NUM_THREADS": "1"},
        )


def _wait_for(address: str, workers: int) -> None:
    from distributed import Client

    with Client(address, timeout=_PATIENCE_S, set_as_default=False) as client:
        client.wait_for_workers(workers, timeout=_PATIENCE_S)
