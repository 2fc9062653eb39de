"""Kill real commands at random moments: python -m tests.store.faults --kills 320.

Each command runs in a forked process on a copy of a store with earlier work, is killed
with SIGKILL, and the store, its published files and the same command run again are judged.
A step a command has told of is sure; what it did after its last word is not.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

from .operations import BY_NAME
from .report import HEADING, kill_all, line_of, wrong_of


def main() -> None:
    """Print the table; end in 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=320, help="of all commands and engines")
    parser.add_argument("--engine", choices=["file", "server", "both"], default="both")
    parser.add_argument("--operation", choices=sorted(BY_NAME), action="append")
    parser.add_argument("--fsync", action="store_true", help="let the server wait for the disk")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    engines = ("file", "server") if chosen.engine == "both" else (chosen.engine,)
    began = time.monotonic()
    kills = wrong = 0
    print(HEADING)
    with tempfile.TemporaryDirectory(prefix="fleetcal-faults-") as folder:
        for tally in kill_all(
            Path(folder),
            engines,
            tuple(chosen.operation or BY_NAME),
            chosen.kills,
            seed=chosen.seed,
            processes=chosen.processes,
            fsync=chosen.fsync,
        ):
            print("\n".join([line_of(tally), *wrong_of(tally)]), flush=True)
            kills += tally.kills
            wrong += len(tally.wrong)
    print(f"{kills} kills in {time.monotonic() - began:.0f} s")
    raise SystemExit(wrong > 0)


if __name__ == "__main__":
    main()
