"""Puts faults into random lines of the program and tells which of them the tests find.

    python -m tests.mutation --lines 200 --seed 1

Each fault is put into a copy of the project, never into the checkout. The tests that run the
line are run, likeliest file first, until one fails; a line that no test runs is not found out.
Which file of tests runs which line is measured once and kept in the file of ``--map``; tests
that start the program in a process of its own are not seen to run its lines. A survivor is
printed as soon as it is known. It may be a fault that changes nothing that matters, so somebody
has to read them. A fault that made the tests take too long counts as found, and is listed: on a
busy machine it has to be tried again.
"""

from __future__ import annotations

import argparse
import ast
import math
import queue
import random
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from tests.mutation.covered import TOO_LONG, TestFile, measured, pytest_words, run_tests
from tests.mutation.mutants import Mutant, mutants
from tests.sources import OURS, ROOT, modules, short

ROOMS = ("fleetcal/airdata", "fleetcal/fleet", "fleetcal/services")


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of one fault.

    Attributes:
        runs_it: Files of tests that run its line.
        found_by: The file of tests that failed, if any.
        too_long: Whether that file did not end in time.
    """

    module: str
    mutant: Mutant
    runs_it: int
    found_by: str | None = None
    too_long: bool = False

    def told(self, source: bytes) -> str:
        """Return the fault in a line, and that no test runs it if so."""
        was = source[self.mutant.start : self.mutant.stop].decode()
        what = f"{' '.join(was.split())}  ->  {self.mutant.text}"
        where = f"{self.module}:{self.mutant.line}"
        return f"{where}: {what}{'' if self.runs_it else '  (no test runs it)'}"


def chosen(rooms: Sequence[str], lines: int, seed: int) -> list[tuple[str, Mutant]]:
    """Choose lines of the rooms, each as likely as any other, and a fault for each."""
    by_line: dict[tuple[str, int], list[Mutant]] = {}
    for path in (path for room in rooms for path in modules(room)):
        for mutant in mutants(path.read_bytes()):
            by_line.setdefault((short(path), mutant.line), []).append(mutant)
    generator = random.Random(seed)
    places = generator.sample(sorted(by_line), min(lines, len(by_line)))
    return [(module, generator.choice(by_line[module, line])) for module, line in places]


@contextmanager
def copies(count: int) -> Iterator[list[Path]]:
    """Copies of the project in a temporary folder."""
    with tempfile.TemporaryDirectory(prefix="fleetcal-mutation-") as name:
        Path(name).chmod(0o755)  # some tests are another user
        roots = [Path(name) / str(number) for number in range(count)]
        for root in roots:
            for folder in (*OURS, "tests"):
                ignored = shutil.ignore_patterns("__pycache__")
                shutil.copytree(ROOT / folder, root / folder, ignore=ignored)
            for file in ROOT.glob("*.*"):
                if file.is_file():
                    shutil.copy(file, root / file.name)
            is_here = f"fleetcal.__file__.startswith({str(root)!r})"
            code = run_tests(root, ["-c", f"import fleetcal; assert {is_here}"], 60.0)
            assert code == 0, "tests would not import the copy"
        yield roots


def tried(root: Path, module: str, mutant: Mutant, files: Sequence[TestFile]) -> Outcome:
    """Put a fault into a copy, run the tests of its line, and take it out again."""
    covering = [file for file in files if file.runs(module, mutant.statement)]
    outcome = Outcome(module=module, mutant=mutant, runs_it=len(covering))
    source = (root / module).read_bytes()
    faulty = mutant.applied(source)
    ast.parse(faulty)
    (root / module).write_bytes(faulty)
    try:
        for file in sorted(covering, key=lambda one: one.effort_s(module)):
            code = run_tests(root, [*pytest_words(), file.path], 60.0 + 3.0 * file.took_s)
            if code != 0:
                return replace(outcome, found_by=file.path, too_long=code == TOO_LONG)
    finally:
        (root / module).write_bytes(source)
    return outcome


def report(outcomes: Sequence[Outcome]) -> None:
    """Print the share found with its binomial error, and what has to be tried again."""
    count, found = len(outcomes), sum(one.found_by is not None for one in outcomes)
    share = found / count
    error = math.sqrt(share * (1.0 - share) / count)
    print(f"found {found} of {count} faults: {100 * share:.1f} % ± {100 * error:.1f} %")
    survivors = [one for one in outcomes if one.found_by is None]
    print(f"survivors: {len(survivors)}, of them in lines that no test runs: ", end="")
    print(sum(not one.runs_it for one in survivors))
    for one in outcomes:
        if one.too_long:
            print(f"  took too long: {one.told((ROOT / one.module).read_bytes())}")


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(prog="tests.mutation", description=__doc__)
    parser.add_argument("--lines", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="+", default=list(ROOMS))
    parser.add_argument("--tests", nargs="+", default=["tests"], help="folders of tests to run")
    parser.add_argument("--map", type=Path, default=Path(tempfile.gettempdir()) / "mutation.json")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    faults = chosen(asked.rooms, asked.lines, asked.seed)
    paths = sorted(
        {short(p) for f in asked.tests for p in modules(f) if p.name.startswith("test_")}
    )
    with copies(asked.processes) as roots:
        files = measured(roots, paths, asked.map)
        free: queue.SimpleQueue[Path] = queue.SimpleQueue()
        for root in roots:
            free.put(root)

        def one(fault: tuple[str, Mutant]) -> Outcome:
            root = free.get()
            try:
                outcome = tried(root, *fault, files)
            finally:
                free.put(root)
            if outcome.found_by is None:
                print(f"survives: {outcome.told((ROOT / outcome.module).read_bytes())}", flush=True)
            return outcome

        with ThreadPoolExecutor(asked.processes) as pool:
            report(list(pool.map(one, faults)))


if __name__ == "__main__":
    main()
