"""Interrupt commands at random moments: python -m tests.attacks.interrupted_commands.

Each must end in 130, or in 0 if it was done before, without a traceback or a process left behind,
and leave a store that is whole. Moments begin when Python has started and loads our code.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.attacks.folder_faults import FAULTS
from tests.attacks.trial import run_and_disturb
from tests.attacks.undo_chains import begin
from tests.cli.club import WHO
from tests.cli.invented_fleet import TAIL
from tests.store.faults.judging import faults_of

#: Commands of every kind; files and store are those of the club.
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("groups",),
    ("curve", TAIL),
    ("outliers",),
    ("change", "C-01"),
    ("publish", "--site", "--out", "site"),
    ("publish", TAIL, "--issue", "--reason", "third", "--out", "third"),
    ("reduce", "log.csv", *WHO),
    ("reduce", "logs", *WHO),
    ("points", "import", "more.csv"),
    ("share", "--out", "shared.json"),
    ("merge", "others.json"),
    ("store", "check"),
    ("undo",),
)
_LONGEST_S = 120.0
_STARTED_S = 0.3


def interrupted(folder: Path, words: tuple[str, ...], trials: int, seed: int) -> list[str]:
    """Print one line on a command, and return what was wrong with it.

    Args:
        folder: Of the club, with its store; left as it is.
    """
    choose, wrong = random.Random(seed), []
    codes: Counter[int] = Counter()
    disturb = FAULTS["interrupted"].disturb
    usual_s = 0.0
    for number in range(trials + 1):
        at_s = _LONGEST_S if not number else choose.uniform(min(_STARTED_S, usual_s), usual_s)
        with tempfile.TemporaryDirectory(prefix="fleetcal-interrupted-") as name:
            place = Path(name, "club")
            shutil.copytree(folder, place)
            store = str(place / "club.sqlite3")
            with contextlib.chdir(place):
                ending = run_and_disturb(("--store", store, *words), at_s, disturb)
            faults = faults_of(store)
        if not number:
            usual_s = ending.seconds
            continue
        codes[ending.code] += 1
        if ending.code not in (0, 130) or "Traceback" in ending.told:
            faults.append(f"ended in {ending.code} after {at_s:.2f} s: {ending.told[-400:]}")
        if ending.hung or ending.left:
            faults.append(f"hung {ending.hung}, {ending.left} processes left")
        wrong += faults
    told = ", ".join(f"{code} x {count}" for code, count in sorted(codes.items()))
    print(f"{' '.join(words)[:44]:44} {usual_s:5.1f} s  {told}", *wrong, sep="\n", flush=True)
    return wrong


def main() -> int:
    """Print a line for each command; return 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=8, help="of each command")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    wrong = 0
    with tempfile.TemporaryDirectory(prefix="fleetcal-interrupted-") as scratch:
        club = begin(Path(scratch, "club"))
        for number, words in enumerate(COMMANDS):
            wrong += len(interrupted(club, words, chosen.trials, chosen.seed + number))
    print(f"{chosen.trials * len(COMMANDS)} interruptions, wrong: {wrong}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
