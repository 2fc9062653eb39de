"""Change a store at random, take everything back, and compare: python -m tests.attacks.undo_chains.

A chain is a dozen commands out of all that write. Taking back the newest change that stands, again
and again, must lead to the rows that were there before, by way of stores that are whole. A log
that was dropped is gone for good: there the number is followed that the refusal names.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import re
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from click.testing import CliRunner, Result

from fleetcal.cli import main as program
from fleetcal.store.history_guard import KEPT
from tests.cli.club import WRITING, begin_store, write_files
from tests.cli.command_line import Program
from tests.store.faults.judging import State, faults_of, state_of

#: What takes back or replaces a store itself, or writes outside the store too.
NOT_IN_A_CHAIN = ("undo", "store")
#: Tables that remember what was done, which taking back only adds to.
REMEMBERING = (*KEPT, "fleetcal_revision")
OF_LOGS = ("kept_log", "log_piece")
_NUMBER = re.compile(r"'fleetcal undo (\d+)'")


@dataclass
class Chain:
    """What became of one chain.

    Attributes:
        done: Commands that succeeded.
        dropped: Of these, those that dropped a log.
        wrong: Sentences on what must not be.
    """

    done: int = 0
    dropped: int = 0
    undone: int = 0
    wrong: list[str] = field(default_factory=list)


def run_chain(begun: Path, folder: Path, seed: int, length: int = 12) -> Chain:
    """Run a chain on a copy of a folder with a store in it, and take it back."""
    shutil.copytree(begun, folder)
    choose, chain = random.Random(seed), Chain()
    place = str(folder / "club.sqlite3")
    with contextlib.chdir(folder):
        before, first = _rows(place), _changes(place)
        for _ in range(length):
            words = choose.choice(_commands())
            worked = _run(chain, place, words).exit_code == 0
            chain.done += worked
            chain.dropped += worked and words[:2] == ("logs", "drop")
        while (standing := _changes(place)) > first + chain.dropped:
            result = _take_back(chain, place)
            if result.exit_code != 0 or _changes(place) >= standing:
                stuck = f"stuck with {standing - first} changes to take back"
                chain.wrong.append(f"{stuck}: {result.output.strip()}")
                break
            chain.undone += 1
            chain.wrong += [f"after undo {chain.undone}: {fault}" for fault in faults_of(place)]
        after = _rows(place)
        chain.wrong += [
            f"{table}: not as before"
            for table in before
            if before[table] != after.get(table) and not (chain.dropped and table in OF_LOGS)
        ]
    return chain


def begin(folder: Path) -> Path:
    """Make a folder with the club's files and a store, and return it."""
    folder.mkdir()
    write_files(folder)
    begin_store(Program(str(folder / "club.sqlite3")), folder)
    return folder


def _commands() -> list[tuple[str, ...]]:
    return [words for words in WRITING if words[0] not in NOT_IN_A_CHAIN]


def _run(chain: Chain, place: str, words: tuple[str, ...]) -> Result:
    """Run a command; what the program did not foresee is noted as wrong."""
    result = CliRunner().invoke(program, ["--store", place, *words], prog_name="fleetcal")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        chain.wrong.append(f"{' '.join(words)}: {result.exception!r}")
    return result


def _take_back(chain: Chain, place: str) -> Result:
    """Take the newest change back, or the one that a refusal names."""
    result = _run(chain, place, ("undo",))
    named = _NUMBER.search(result.output)
    if result.exit_code != 0 and named is not None:
        result = _run(chain, place, ("undo", named[1]))
    return result


def _rows(place: str) -> State:
    return {table: rows for table, rows in state_of(place).items() if table not in REMEMBERING}


def _changes(place: str) -> int:
    """Return how many changes stand, those taken back left out."""
    lines = Program(place).json("show", "history")["lines"]
    others = [line for line in lines if line["command"] != "undo"]
    return len({line["change"] for line in others if not line["undone"]})


def chains(number: int, seed: int) -> Iterator[Chain]:
    """Run so many chains, each on a store of its own."""
    with tempfile.TemporaryDirectory(prefix="fleetcal-chains-") as scratch:
        begun = begin(Path(scratch, "begun"))
        for count in range(number):
            yield run_chain(begun, Path(scratch, str(count)), seed + count)


def main() -> None:
    """Print each chain and the counts; end in 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--chains", type=int, default=14)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    wrong = 0
    for number, chain in enumerate(chains(chosen.chains, chosen.seed), start=1):
        print(f"chain {number}: {chain.done} changes, {chain.undone} taken back", *chain.wrong)
        wrong += len(chain.wrong)
    print(f"{chosen.chains} chains, wrong: {wrong}")
    raise SystemExit(wrong > 0)


if __name__ == "__main__":
    main()
