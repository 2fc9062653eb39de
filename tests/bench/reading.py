"""Time reading a large log against pandas.read_csv of the same columns, and its memory.

``python -m tests.bench.reading`` prints the ratio of medians for a log of 100 MB,
``python -m tests.bench.reading --large`` the peak memory for one of 1 GB.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

from fleetcal.flightlog import read_recordings

HEADINGS = (
    "UTC date-time,pressure altitude (ft),IAS (kt),pitch (deg),OAT (degC),oil pressure (psi),"
    "ground speed (kt),track (deg true),RPM,EGT 1 (C),EGT 2 (C),EGT 3 (C),EGT 4 (C),heading (deg)"
)
USED = (0, 1, 2, 4, 6, 7, 13)
ROWS_IN_BLOCK = 20_000
ROUNDS = 7


def main() -> None:
    """Print the ratio of times, or the peak of memory."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--large", action="store_true")
    parser.add_argument("--read", type=Path)
    chosen = parser.parse_args()
    if chosen.read:
        _report_memory(chosen.read)
        return
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log.csv"
        write_log(log, 1_000_000_000 if chosen.large else 100_000_000)
        if chosen.large:
            command = [sys.executable, "-m", "tests.bench.reading", "--read", str(log)]
            subprocess.run(command, check=True)
        else:
            _report_times(log)


def write_log(path: Path, size: int) -> None:
    """Write an invented five-hertz log of about so many bytes."""
    rng = np.random.default_rng(4)
    start = np.datetime64("2024-05-02T10:00:00.0", "ms")
    with path.open("w", encoding="ascii") as file:
        file.write(HEADINGS + "\n")
        first = 0
        while file.tell() < size:
            count = np.arange(first, first + ROWS_IN_BLOCK)
            times = (start + 200 * count).astype(str)
            readings = [
                np.char.mod("%.1f", rng.normal(mean, spread, ROWS_IN_BLOCK))
                for mean, spread in (
                    (4000.0, 20.0), (95.0, 2.0), (2.0, 1.0), (12.0, 0.3), (60.0, 2.0),
                    (101.0, 3.0), (180.0, 90.0), (2400.0, 9.0), (640.0, 5.0), (650.0, 5.0),
                    (645.0, 5.0), (655.0, 5.0), (181.0, 90.0),
                )
            ]  # fmt: skip
            file.write("\n".join(map(",".join, zip(times, *readings, strict=True))) + "\n")
            first += ROWS_IN_BLOCK


def _report_times(log: Path) -> None:
    ours, plain = [], []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        pd.read_csv(log, usecols=list(USED))
        plain.append(time.perf_counter() - start)
        start = time.perf_counter()
        (recording,) = read_recordings(log)
        ours.append(time.perf_counter() - start)
    megabytes = log.stat().st_size / 1e6
    print(f"{megabytes:.0f} MB, {recording.t_s.size} rows, {len(USED)} columns, {ROUNDS} rounds")
    print(f"pandas.read_csv of these columns: {statistics.median(plain):.2f} s")
    print(f"reading the log: {statistics.median(ours):.2f} s")
    print(f"ratio of medians: {statistics.median(ours) / statistics.median(plain):.2f}")


def _report_memory(log: Path) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start = time.perf_counter()
    recordings = read_recordings(log)
    taken = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    rows = sum(recording.t_s.size for recording in recordings)
    held = sum(
        values.nbytes for recording in recordings for values in recording.channels.values()
    ) / (1 << 20)
    print(f"{log.stat().st_size / 1e6:.0f} MB, {rows} rows in {taken:.1f} s")
    print(
        f"peak {peak:.0f} MiB ({before:.0f} MiB before reading; the channels hold {held:.0f} MiB)"
    )


if __name__ == "__main__":
    main()
