"""Time reducing a folder of 200 logs with one process and with two.

``python -m tests.bench.folder_of_logs`` prints the wall times, and how many processors
were kept busy.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.shapes import plain
from tests.one_airframe import FLEET

LOGS = 200
DIFFERENT = 10
RATE_HZ = 5.0
ROUNDS = 3


def main() -> None:
    """Print wall times and the use of processors."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "fleet.toml").write_text(FLEET, encoding="utf-8")
        megabytes = write_logs(folder / "logs") / 1e6
        print(f"{LOGS} logs, {megabytes:.0f} MB, {ROUNDS} rounds; medians")
        times: dict[int, list[tuple[float, float]]] = {1: [], 2: []}
        for round_number in range(ROUNDS):
            for processes, found in times.items():
                found.append(_reduced(folder, f"{round_number}-{processes}.store", processes))
    walls = {}
    for processes, found in times.items():
        walls[processes] = statistics.median(wall for wall, _ in found)
        busy = statistics.median(spent / wall for wall, spent in found)
        print(f"--processes {processes}: {walls[processes]:.1f} s, {busy:.2f} processors busy")
    print(f"one process against two: {walls[1] / walls[2]:.2f}")


def write_logs(folder: Path) -> int:
    """Write invented logs of about 19 minutes at five hertz, and return their size in bytes."""
    folder.mkdir()
    flights = [plain(fly(seed, 36000.0, RATE_HZ)) for seed in range(DIFFERENT)]
    for number in range(LOGS):
        text = f"# log {number}\n{flights[number % DIFFERENT]}"
        (folder / f"log{number:03d}.csv").write_text(text, encoding="utf-8")
    return sum(path.stat().st_size for path in folder.iterdir())


def _reduced(folder: Path, store: str, processes: int) -> tuple[float, float]:
    """Reduce the folder into a new store; wall time and time of the processors, s."""
    program = [sys.executable, "-c", "from fleetcal.cli import main; main()"]
    program += ["--store", str(folder / store)]
    subprocess.run([*program, "fleet", "load", folder / "fleet.toml"], check=True, stdout=-3)
    words = ["reduce", str(folder / "logs"), "--airframe", "C-01", "--weight-kg", "580"]
    before, start = os.times(), time.perf_counter()
    done = subprocess.run(
        [*program, *words, "--processes", str(processes)],
        check=True,
        capture_output=True,
        text=True,
    )
    wall, after = time.perf_counter() - start, os.times()
    assert f"{LOGS} stored" in done.stdout, done.stdout[-300:]
    spent = after.children_user + after.children_system
    return wall, spent - before.children_user - before.children_system


if __name__ == "__main__":
    main()
