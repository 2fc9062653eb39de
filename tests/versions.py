"""Try fleetcal on other Pythons, with the lowest and the newest packages that it allows.

Every pair of a Python and a choice of versions gets an environment of its own, thrown away at the
end. The lowest are those that ``pyproject.toml`` names, or the first after them that has a wheel
for that Python. All ordinary tests, on every Python from 3.11 that is found on this machine::

    python -m tests.versions

A choice of pairs and of tests; what follows ``--`` is pytest's::

    python -m tests.versions --pair 3.11:lowest --pair 3.13:newest -- -n 2 tests/airdata
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[1]
LOWEST, NEWEST = "lowest", "newest"
RESOLUTIONS = {LOWEST: "lowest-direct", NEWEST: "highest"}
FIRST_MINOR = 11
LAST_MINOR = 14
COUNTED = re.compile(r"\d+ (?:passed|failed|error|skipped)")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the tests on every pair; return 1 if any pair failed, and 2 if a Python is not there."""
    chosen = _chosen(arguments)
    pythons = found_pythons()
    if chosen.found:
        print(*pythons, sep="\n")
        return 0
    pairs = chosen.pair or [f"{name}:{which}" for name in pythons for which in RESOLUTIONS]
    missing = sorted({pair.split(":")[0] for pair in pairs} - pythons.keys())
    if missing:
        print(f"Python {', '.join(missing)}: not found on this machine", file=sys.stderr)
        return 2
    results = []
    for pair in pairs:
        name, which = pair.split(":")
        print(f"== Python {name} with the {which} versions", flush=True)
        results.append((pair, *_tried(pythons[name], which, chosen.pytest)))
    for pair, worked, counts in results:
        print(f"{'passed' if worked else 'FAILED':8}{pair:14}{counts}")
    return 0 if all(worked for _, worked, _ in results) else 1


def found_pythons() -> dict[str, Path]:
    """Return each Python of 3.11 to 3.14 that runs here, by its name such as ``3.12``."""
    found = {}
    for minor in range(FIRST_MINOR, LAST_MINOR + 1):
        name = f"3.{minor}"
        running = next(filter(_runs, _candidates(name)), None)
        if running is not None:
            found[name] = running
    return found


def _chosen(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--pair", action="append", type=_pair, metavar="3.N:lowest|newest")
    parser.add_argument("--found", action="store_true", help="only name the Pythons found")
    parser.add_argument("pytest", nargs="*", help="what pytest is given, after --")
    return parser.parse_args(arguments)


def _pair(text: str) -> str:
    name, _, which = text.partition(":")
    if which not in RESOLUTIONS or not re.fullmatch(r"3\.\d+", name):
        raise argparse.ArgumentTypeError(f"{text!r} is not like 3.11:lowest or 3.13:newest")
    return text


def _candidates(name: str) -> list[Path]:
    """Return where a Python of that name may be: this one, the path, a folder of versions."""
    here = [Path(sys.base_prefix, "bin", f"python{name}")]
    on_path = [Path(one) for one in [shutil.which(f"python{name}")] if one]
    versions = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"), "versions")
    return [*here, *on_path, *sorted(versions.glob(f"{name}.*/bin/python{name}"))]


def _runs(python: Path) -> bool:
    try:
        done = subprocess.run([python, "-c", "import venv, ssl, sqlite3"], capture_output=True)
    except OSError:
        return False
    return done.returncode == 0


def _tried(python: Path, which: str, tests: Sequence[str]) -> tuple[bool, str]:
    """Return whether the tests passed in a new environment, and what pytest counted."""
    with tempfile.TemporaryDirectory() as folder:
        own = Path(folder, "bin", "python")
        steps = [
            ["venv", "--quiet", "--no-python-downloads", "--python", str(python), folder],
            [
                *("pip", "install", "--quiet", "--python", str(own)),
                *("--only-binary", ":all:", "--resolution", RESOLUTIONS[which]),
                *("--editable", ".[test]"),
            ],
        ]
        for step in steps:
            if subprocess.run([sys.executable, "-m", "uv", *step], cwd=ROOT).returncode != 0:
                return False, "could not be installed"
        return tested(own, tests or ["-n", "2", "--dist", "worksteal"])


def tested(python: Path, tests: Sequence[str]) -> tuple[bool, str]:
    """Run pytest under a Python; return whether all passed, and what was counted."""
    path = os.pathsep.join([str(python.parent), os.environ["PATH"]])
    last = ""
    with subprocess.Popen(
        [python, "-m", "pytest", "-q", "-p", "no:cacheprovider", *tests],
        cwd=ROOT,
        env=os.environ | {"PATH": path},
        stdout=subprocess.PIPE,
        text=True,
    ) as run:
        for line in run.stdout or ():
            print(line, end="", flush=True)
            last = line if COUNTED.search(line) else last
    return run.returncode == 0, ", ".join(COUNTED.findall(last)) or "nothing counted"


if __name__ == "__main__":
    sys.exit(main())
