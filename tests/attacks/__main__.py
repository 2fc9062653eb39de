"""Run every attack and print one table: python -m tests.attacks.

Each line is a command or a choice of tests that can be run alone; its own output follows as it
runs, and the table of what it counted last. Some of them take minutes.
"""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import dataclass


@dataclass(frozen=True)
class Attack:
    """One line of the table.

    Attributes:
        words: Of Python's ``-m``: a module and what it is given.
    """

    what: str
    words: tuple[str, ...]


def _tests(*paths: str) -> tuple[str, ...]:
    return ("pytest", "-q", "-n", "2", "-m", "long or not long", *paths)


ATTACKS = (
    Attack("logs, TOML and tables of every damage", ("tests.attacks.files",)),
    Attack("one flight in other clothes", ("tests.attacks.same_flight",)),
    Attack("one odd point, every way in", ("tests.attacks.odd_points",)),
    Attack("forged shares", ("tests.attacks.forged_shares",)),
    Attack(
        "shares of random stores in any order",
        _tests(
            "--hypothesis-profile=thorough",
            "tests/store/test_merge_laws.py",
            "tests/store/test_merge_laws_of_owners.py",
        ),
    ),
    Attack("history and rows changed by SQL, flipped bits", ("tests.attacks.history",)),
    Attack("random changes, all taken back", ("tests.attacks.undo_chains",)),
    Attack("a folder of logs interrupted", ("tests.attacks.folder_faults",)),
    Attack("commands interrupted at random", ("tests.attacks.interrupted_commands",)),
    Attack("commands killed at random", ("tests.store.faults",)),
    Attack("many writers and readers at once", ("tests.store.crowd",)),
    Attack("markup in every text", _tests("tests/web/test_markup.py")),
    Attack(
        "rights and passwords on a server",
        _tests("tests/store/test_store_rights.py", "tests/cli/test_store_roles.py"),
    ),
    Attack(
        "disks that are full or read-only, interruption",
        _tests(
            *(f"tests/store/test_store_{one}.py" for one in ("full_disk", "read_only")),
            "tests/store/test_store_interruption.py",
            "tests/cli/test_ending.py",
        ),
    ),
)


def main() -> int:
    """Run all; return 1 if any found something wrong."""
    rows = []
    for attack in ATTACKS:
        print(f"== {attack.what}: python -m {' '.join(attack.words)}", flush=True)
        began = time.monotonic()
        worked, last = _run(attack.words)
        rows.append((attack.what, worked, last, time.monotonic() - began))
    print()
    for what, worked, last, seconds in rows:
        print(f"{what:46} {'held' if worked else 'FELL':5} {seconds:5.0f} s  {last}")
    return 0 if all(worked for _, worked, _, _ in rows) else 1


def _run(words: tuple[str, ...]) -> tuple[bool, str]:
    """Return whether a command ended well, and its last line."""
    last = ""
    with subprocess.Popen(
        [sys.executable, "-m", *words], stdout=subprocess.PIPE, text=True
    ) as running:
        for line in running.stdout or ():
            print(line, end="", flush=True)
            last = line.strip() or last
    return running.returncode == 0, last


if __name__ == "__main__":
    sys.exit(main())
