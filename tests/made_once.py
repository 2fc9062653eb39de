"""What is costly to make and then only read: made once for all workers, or for several runs.

Runs share what they make if ``FLEETCAL_TESTS_MADE`` names a folder, as the continuous checks do.
"""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

VARIABLE = "FLEETCAL_TESTS_MADE"


def made_once(name: str, factory: pytest.TempPathFactory, make: Callable[[Path], object]) -> Path:
    """Return the folder of that name, filled by the first who asks; others wait for it."""
    base = _common_folder(factory)
    folder, done = base / name, base / f"{name} is made"
    with (base / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            make(folder)
            done.touch()
    return folder


def _common_folder(factory: pytest.TempPathFactory) -> Path:
    """Return a folder that all workers of a run know."""
    if VARIABLE in os.environ:
        common = Path(os.environ[VARIABLE])
    else:
        own = factory.getbasetemp()
        common = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "made once"
    common.mkdir(parents=True, exist_ok=True)
    return common
