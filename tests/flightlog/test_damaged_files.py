"""However a file is damaged: a sound recording or a refusal of ours, and soon."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import FleetcalError
from fleetcal.flightlog import Recording, read_recordings
from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.understand_log import understand_log
from tests.flightlog.corpus.damage import damaged
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.records import icartt, igc
from tests.flightlog.corpus.shapes import shapes

#: Processor time, which other work on the machine hardly touches.
LONGEST_S = 5.0
MANY = 1000
BLOCKS = 4


@cache
def originals() -> list[bytes]:
    """A short stretch of every shape of the corpus."""
    flown = fly(5, 86400.0 - 200.0).rows(slice(150, 420))
    return [*shapes(flown).values(), icartt(flown).encode(), igc(flown).encode()]


def refusal(action: Callable[[], object]) -> FleetcalError | None:
    """Return our refusal of an action, None if it is done."""
    try:
        action()
    except FleetcalError as error:
        return error
    return None


def survives(path: Path, seed: int) -> str:
    """Damage one file, read it in all ways, and return how it ended."""
    rng = np.random.default_rng(seed)
    path.write_bytes(damaged(originals()[seed % len(originals())], rng))
    begin = time.process_time()
    parts: list[Recording] = []
    refused = [refusal(lambda: parts.extend(read_recordings(path)))]
    for part in parts:
        assert np.all(np.diff(part.t_s) > 0.0)
        assert all(values.shape == part.t_s.shape for values in part.channels.values())
        assert part.line_numbers.shape == part.t_s.shape
    if seed % 7 == 0:
        details, settings = FlightDetails(airframe=None), ReductionSettings()
        refused.append(refusal(lambda: preview_flight(path, details, settings)))
        refused.append(refusal(lambda: understand_log(path)))
    assert all(error.message and "\n" not in error.message for error in refused if error)
    taken = time.process_time() - begin
    assert taken < LONGEST_S, f"seed {seed} took {taken:.1f} s"
    return "read" if parts else type(refused[0]).__name__


@pytest.mark.parametrize("block", range(10))
def test_some_damaged_files(tmp_path: Path, block: int) -> None:
    ends = [survives(tmp_path / "log", seed) for seed in range(block * 40, block * 40 + 40)]
    assert "read" in ends
    assert len(set(ends)) > 1


@pytest.mark.long
@pytest.mark.parametrize("block", range(BLOCKS))
def test_many_damaged_files(tmp_path: Path, block: int) -> None:
    count = MANY // BLOCKS
    first = 1000 + block * count
    ends = [survives(tmp_path / "log", seed) for seed in range(first, first + count)]
    counts = {name: ends.count(name) for name in sorted(set(ends))}
    print(counts)
    # enough of each that the damage is neither harmless nor total
    assert count // 5 < counts["read"] < 9 * count // 10
