"""Which files of tests run which lines, and how long each file takes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

#: Longest that a file of tests may take without a fault in the program, s.
LONGEST_S: Final = 3600.0
#: What pytest exits with when a file has no ordinary tests, and `run_tests` when it took too long.
NO_TESTS: Final = 5
TOO_LONG: Final = 124


@dataclass(frozen=True)
class TestFile:
    """A file of tests, and the lines that it runs by module; paths from the root."""

    path: str
    took_s: float
    lines: dict[str, list[int]]

    def runs(self, module: str, line: int) -> bool:
        """Return whether it runs the statement that begins in a line."""
        return line in self.lines.get(module, ())

    def effort_s(self, module: str) -> float:
        """Return how late it is to be tried: it should be quick, and run much of the module."""
        return self.took_s / max(len(self.lines.get(module, ())), 1) ** 3


def run_tests(root: Path, words: list[str], longest_s: float) -> int:
    """Run Python on a copy of the project and return its exit code, or `TOO_LONG`."""
    clean = {k: v for k, v in os.environ.items() if k != "FLEETCAL_STORE"}
    own = {"PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        return subprocess.run(
            [sys.executable, *words],
            cwd=root,
            env=clean | own,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=longest_s,
            check=False,
        ).returncode
    except subprocess.TimeoutExpired:
        return TOO_LONG


def measured(roots: list[Path], paths: list[str], kept: Path) -> list[TestFile]:
    """Run each file of tests by itself under coverage, side by side in copies of the project.

    A file that fails as things are is named and left out, one without ordinary tests is left
    out. What is found is kept, and taken from there the next time.
    """
    known = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
    wanted = [path for path in paths if path not in known]
    free = list(roots)

    def one(path: str) -> TestFile | None:
        root = free.pop()
        try:
            return _measured(root, path)
        finally:
            free.append(root)

    with ThreadPoolExecutor(len(roots)) as pool:
        for path, found in zip(wanted, pool.map(one, wanted), strict=True):
            if found is None:
                print(f"left out, because it fails as things are: {path}", flush=True)
                continue
            known[path] = asdict(found)
            kept.write_text(json.dumps(known), encoding="utf-8")
    return [TestFile(**known[path]) for path in paths if path in known]


def _measured(root: Path, path: str) -> TestFile | None:
    data, report = root / f"{Path(path).stem}.coverage", root / f"{Path(path).stem}.json"
    began = time.monotonic()
    run = ["-m", "coverage", "run", f"--data-file={data}", "--source=fleetcal"]
    code = run_tests(root, [*run, *pytest_words(), path], LONGEST_S)
    took_s = time.monotonic() - began
    if code == NO_TESTS:
        return TestFile(path, took_s, {})
    if code != 0:
        return None
    run_tests(root, ["-m", "coverage", "json", f"--data-file={data}", "-o", str(report)], LONGEST_S)
    files = json.loads(report.read_text(encoding="utf-8"))["files"]
    lines = {module: found["executed_lines"] for module, found in files.items()}
    return TestFile(path, took_s, {module: each for module, each in lines.items() if each})


def pytest_words() -> list[str]:
    """Return how pytest is run: up to the first failure, leaving nothing behind."""
    return ["-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
