"""Many invented fleets in several processes, and how sure the rates are."""

from __future__ import annotations

import multiprocessing
import os
import warnings
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from functools import partial
from typing import TypeVar

import numpy as np

from fleetcal.fleet.points import Array

#: What is simulated, with a plan of its own kind.
Some = TypeVar("Some")
Trial = Callable[[Some, int | None, int], tuple[float, ...]]


def workers(processes: int) -> ProcessPoolExecutor:
    """Return processes that leave linear algebra on one thread each, so as not to disturb."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # read when the new processes load numpy
    return ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"))


def rates(
    trial: Trial[Some], plan: Some, order: int | None, fleets: int, first_seed: int, pool: Executor
) -> tuple[Array, Array]:
    """Return the mean of what a trial returns over many fleets, and its Monte Carlo error.

    Fleet number i is drawn with seed first_seed + i, so the result is the same
    for any number of processes.
    """
    told = outcomes(trial, plan, order, fleets, first_seed, pool)
    share = np.mean(told, axis=0)
    return share, np.sqrt(np.maximum(share * (1.0 - share), 0.25 / fleets) / fleets)


def outcomes(
    trial: Trial[Some], plan: Some, order: int | None, fleets: int, first_seed: int, pool: Executor
) -> Array:
    """Return what a trial returns for each of many fleets, shape (fleets, values)."""
    seeds = range(first_seed, first_seed + fleets)
    told = pool.map(partial(_one, trial, plan, order), seeds, chunksize=max(fleets // 16, 1))
    return np.array(list(told))


def _one(trial: Trial[Some], plan: Some, order: int | None, seed: int) -> tuple[float, ...]:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return trial(plan, order, seed)
