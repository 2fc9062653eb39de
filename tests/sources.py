"""The source files of this project, for tests that read them."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
OURS = ("fleetcal", "migrations", "seed_demo")


def modules(folder: str) -> list[Path]:
    return sorted(p for p in (ROOT / folder).rglob("*.py") if "__pycache__" not in p.parts)


EVERY_MODULE = modules("fleetcal")
EVERY_FILE = [path for folder in OURS for path in modules(folder)]


def short(path: Path) -> str:
    return str(path.relative_to(ROOT))


def dotted(path: Path) -> str:
    """Name of the module, `fleetcal.cli` for the package itself."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def syntax(path: Path) -> ast.Module:
    """Return the parsed text of a file, read once for all tests."""
    return ast.parse(path.read_text(encoding="utf-8"))


def faults_of(paths: Iterable[Path], search: Callable[[Path], Iterable[str]]) -> list[str]:
    """Return what a search finds in each of the files, with the file's name before it."""
    return [f"{short(path)}, {found}" for path in paths for found in search(path)]
