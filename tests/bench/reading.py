"""Time reading a large log against pandas.read_csv of the same columns, and its memory.

``python -m tests.bench.reading`` prints the ratios for a log of 100 MB on one processor, and for
one as a spreadsheet writes it; ``python -m tests.bench.reading --large`` the peak memory for 1 GB.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

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
PREAMBLE = ("# Recorder of the club", "# Airframe C-07", "# Written by hand: nothing")
EMPTY = 0.05


def main() -> None:
    """Print the ratio of times, or the peak of memory."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--large", action="store_true")
    parser.add_argument("--read", type=Path)
    parser.add_argument("--by", choices=("ours", "pandas"), default="ours")
    chosen = parser.parse_args()
    if chosen.read:
        _report_memory(chosen.read, chosen.by)
        return
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log.csv"
        write_log(log, 1_000_000_000 if chosen.large else 100_000_000)
        if chosen.large:
            command = [sys.executable, "-m", "tests.bench.reading", "--read", str(log), "--by"]
            for reader in ("pandas", "ours"):
                subprocess.run([*command, reader], check=True)
        else:
            _on_one_processor()
            _report_times("five hertz, date and time in one column", log, {})
            write_as_a_spreadsheet(log)
            plain = {"sep": ";", "decimal": ",", "skiprows": len(PREAMBLE)}
            _report_times("decimal commas, one cell in twenty empty, lines above", log, plain)


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


def write_as_a_spreadsheet(path: Path) -> None:
    """Write a log anew: semicolons, decimal commas, empty cells, lines above its headings."""
    rng = np.random.default_rng(5)
    other = path.with_suffix(".other")
    with path.open(encoding="ascii") as former, other.open("w", encoding="ascii") as file:
        file.write("".join(f"{line}\n" for line in PREAMBLE))
        file.write(next(former).replace(",", ";"))
        for line in former:
            time_of_day, *cells = line.rstrip("\n").replace(",", ";").replace(".", ",").split(";")
            if rng.random() < EMPTY * len(cells):
                cells[rng.integers(len(cells))] = ""
            file.write(";".join([time_of_day, *cells]) + "\n")
    other.replace(path)


def _on_one_processor() -> None:
    """Keep this process and its threads to one processor."""
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})


def _report_times(what: str, log: Path, plain: dict[str, Any]) -> None:
    """Print how the least times of both compare: whatever else runs only adds to them."""
    times: dict[str, list[tuple[float, float]]] = {"pandas": [], "ours": []}
    rows = 0
    for _ in range(ROUNDS):
        for name, found in times.items():
            start, spent = time.perf_counter(), time.process_time()
            if name == "pandas":
                pd.read_csv(log, usecols=list(USED), **plain)
            else:
                rows = sum(recording.t_s.size for recording in read_recordings(log))
            found.append((time.process_time() - spent, time.perf_counter() - start))
    print(f"{what}: {log.stat().st_size / 1e6:.0f} MB, {rows} rows, {len(USED)} columns")
    for number, of in enumerate(("processor", "wall")):
        least, middle = (
            {name: float(pick([pair[number] for pair in found])) for name, found in times.items()}
            for pick in (min, statistics.median)
        )
        print(
            f"  {of} time: pandas.read_csv {least['pandas']:.2f} s, ours {least['ours']:.2f} s; "
            f"ratio {least['ours'] / least['pandas']:.2f}, "
            f"of medians {middle['ours'] / middle['pandas']:.2f}"
        )


def _report_memory(log: Path, reader: str) -> None:
    """Print the peak of this process; of ours also what the channels hold of it."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start, spent = time.perf_counter(), time.process_time()
    if reader == "pandas":
        rows, held = len(pd.read_csv(log, usecols=list(USED))), 0
    else:
        recordings = read_recordings(log)
        rows = sum(recording.t_s.size for recording in recordings)
        held = sum(v.nbytes for recording in recordings for v in recording.channels.values())
    spent, taken = time.process_time() - spent, time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{reader}: {log.stat().st_size / 1e6:.0f} MB, {rows} rows in {taken:.1f} s")
    print(f"  processor time {spent:.1f} s; peak {peak:.0f} MiB ({before:.0f} before reading)")
    if held:
        print(f"  the channels hold {held / (1 << 20):.0f} MiB")


if __name__ == "__main__":
    main()
