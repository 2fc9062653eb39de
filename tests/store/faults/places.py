"""Places for stores on both engines, each a fresh copy of one that was prepared."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from tests.postgres_server import database_name, drop_database, make_database

_NUMBERS = count(1)


@dataclass(frozen=True)
class Files:
    """Stores as files below a folder."""

    folder: Path
    engine: str = "file"

    def empty(self, name: str) -> str:
        """Return a place where nothing is yet."""
        return str(self.folder / f"{name}.sqlite3")

    def copy(self, original: str) -> str:
        """Return a place that holds what another holds, while nobody is at work there."""
        inner = self.folder / f"copy-{next(_NUMBERS)}"
        inner.mkdir()
        return str(shutil.copy(original, inner / "store.sqlite3"))

    def discard(self, place: str) -> None:
        """Throw a copy away with all that was left beside it."""
        shutil.rmtree(Path(place).parent)


@dataclass(frozen=True)
class Databases:
    """Stores as databases of one server; the prefix keeps several workers apart."""

    server: str
    prefix: str
    engine: str = "server"

    def empty(self, name: str) -> str:
        """Return a place where nothing is yet."""
        return make_database(self.server, f"{self.prefix}_{name}")

    def copy(self, original: str) -> str:
        """Return a place that holds what another holds, while nobody is at work there."""
        name = f"{self.prefix}_copy_{next(_NUMBERS)}"
        return make_database(self.server, name, database_name(original))

    def discard(self, place: str) -> None:
        """Throw a copy away."""
        drop_database(self.server, database_name(place))


Places = Files | Databases
