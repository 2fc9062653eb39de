"""Workers of a Dask cluster, by the address of its scheduler.

They are an executor like any other (`folder_crew`). Whoever can reach a scheduler can let it run
anything: it belongs on a network of one's own.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

from fleetcal.errors import WorkersError
from fleetcal.services.flights.folder_crew import Crew

#: For the scheduler to answer, and for a worker to come back after the last was lost, s.
_ANSWERS_S: Final = 10.0
_COMES_BACK_S: Final = 30.0
_TALKERS: Final = ("distributed", "distributed.client", "tornado", "tornado.application")


@contextmanager
def cluster_crew(address: str) -> Iterator[Crew]:
    """Yield the workers of a cluster.

    Args:
        address: Of its scheduler, such as ``tcp://10.0.0.5:8786``.

    Yields:
        What they have not begun when the block is left is not begun any more.

    Raises:
        WorkersError: If Dask is not installed, no scheduler answers, or it has no workers.
    """
    try:
        import dask
        from distributed import Client
        from distributed.scheduler import KilledWorker
    except ImportError as error:
        raise WorkersError(
            "the workers of a cluster need Dask, which is not installed",
            "pip install 'fleetcal[dask]'",
        ) from error
    # of a large log, which travels as it is
    large = dask.config.set({"distributed.admin.large-graph-warning-threshold": "1TiB"})
    with large, _quiet():
        client = _client(Client, address)
        executor = client.get_executor(pure=False)
        try:
            check = _check(client, address)
            at_once = _threads(client)
            if not at_once:
                raise WorkersError(
                    f"the scheduler at {address} has no workers",
                    f"begin some: dask worker {address}",
                )
            yield Crew(
                executor=executor,
                at_once=at_once,
                sees_files=False,
                check=check,
                gave_up=(KilledWorker,),
            )
        finally:
            if client.status == "running":
                executor.shutdown(wait=False)
            client.close(timeout=_ANSWERS_S)


@contextmanager
def _quiet() -> Iterator[None]:
    """Let Dask say nothing itself: what is lost is said by our errors."""
    loggers = [logging.getLogger(name) for name in _TALKERS]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.setLevel(level)


def _client(begin: Callable[..., Any], address: str) -> Any:
    try:
        return begin(address, timeout=_ANSWERS_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise WorkersError(
            f"no scheduler answers at {address}: {error}",
            "give the address that 'dask scheduler' prints, such as tcp://10.0.0.5:8786",
        ) from error


def _threads(client: Any) -> int:
    """Return how many tasks the workers do at once; 0 without workers."""
    return sum(client.nthreads().values())


def _check(client: Any, address: str) -> Callable[[], None]:
    """Return what raises when the scheduler is gone, or no worker comes back."""
    gone_since: float | None = None

    def check() -> None:
        nonlocal gone_since
        try:
            here = client.status == "running" and _threads(client)
        except Exception as error:  # of a connection that has just been lost
            raise _gone(f"the scheduler at {address} answers no more") from error
        if client.status != "running":
            raise _gone(f"the scheduler at {address} answers no more")
        if here:
            gone_since = None
        elif gone_since is None:
            gone_since = time.monotonic()
        elif time.monotonic() - gone_since > _COMES_BACK_S:
            raise _gone(f"the scheduler at {address} has no workers left")

    return check


def _gone(trouble: str) -> WorkersError:
    return WorkersError(
        trouble, "every flight that was stored is complete; the same command goes on from there"
    )
