"""No verdict of a test hangs on how busy the machine is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

TESTS = Path(__file__).parent
#: Where the clock is read to wait for another process, or for a least time, and why.
WAITING = {
    "pooler.py": "gives up on a pooler that does not come up",
    "publish/browser.py": "gives up on a browser that has died",
    "cli/test_reduce_folder.py": "waits for the first flights of a child before it is interrupted",
    "dask_cluster.py": "gives up on a cluster that does not answer",
    "web/serving.py": "gives up on a server that says nothing",
    "web/test_page_starter.py": "waits for the browser that a child is to open",
    "store/test_store_write_lock.py": "a writer is patient for at least as long as it was asked",
}
#: Programs that measure, run by hand or judged by what they count.
MEASURING = (
    "bench/",
    "fleet/simulations/",
    "mutation/",
    "store/cluster/",
    "store/crowd/",
    "store/faults/",
    "attacks/",
)
CLOCK = re.compile(r"\b(perf_counter|monotonic|time\.time)\(")


def files_that_read_the_clock() -> list[str]:
    """Return the test files that read the wall clock, programs that measure left out."""
    named = {path: path.relative_to(TESTS).as_posix() for path in sorted(TESTS.rglob("*.py"))}
    return [
        name
        for path, name in named.items()
        if not name.startswith(MEASURING)
        and path != Path(__file__)
        and CLOCK.search(path.read_text(encoding="utf-8"))
    ]


def test_only_waiting_reads_the_clock() -> None:
    assert files_that_read_the_clock() == sorted(WAITING)


@pytest.mark.parametrize("name", WAITING)
def test_waiting_sets_no_upper_limit_in_an_assertion(name: str) -> None:
    text = (TESTS / name).read_text(encoding="utf-8")
    assert not re.search(r"assert .*(monotonic\(\) - \w+|waited|took|taken) <", text)


def test_generated_examples_have_no_time_limit_and_are_the_same_every_time() -> None:
    profile = settings()
    assert profile.deadline is None
    assert HealthCheck.too_slow in profile.suppress_health_check
    assert profile.derandomize
