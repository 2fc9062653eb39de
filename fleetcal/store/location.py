"""Where the store is: what the caller said, else the environment, else the user's own folder."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISREG
from typing import TYPE_CHECKING

from platformdirs import user_data_path

from fleetcal.errors import StoreError
from fleetcal.store.addresses import hosts_of, shown, with_hosts_apart

if TYPE_CHECKING:
    from sqlalchemy.engine import URL

VARIABLE = "FLEETCAL_STORE"
FILE_NAME = "fleetcal-store.sqlite3"
#: A database's smallest page. A shorter file would be taken for an empty one and overwritten.
SHORTEST_FILE = 512


@dataclass(frozen=True)
class Location:
    """A store as a file (`path`) or as a database on a server (`url`), never both.

    Attributes:
        path: File of an SQLite store.
        url: Address of a database on a server, or of several that hold copies.
        is_default: Nobody named a place, so the user's own folder is meant.
    """

    path: Path | None = None
    url: URL | None = None
    is_default: bool = False

    @property
    def has_copies(self) -> bool:
        """Whether its address names several hosts, of which another may take over."""
        return self.url is not None and len(hosts_of(self.url)) > 1

    @property
    def is_long_enough(self) -> bool:
        """Whether it is a file that may hold a store."""
        try:
            found = None if self.path is None else self.path.stat()
        except OSError:
            return False
        return found is not None and S_ISREG(found.st_mode) and found.st_size >= SHORTEST_FILE

    @property
    def label(self) -> str:
        """File name, or address without password and options: safe to print."""
        if self.url is None:
            return str(self.path)
        return shown(self.url)


def locate(where: str | Path | None = None) -> Location:
    """Settle which store is meant.

    Args:
        where: A file, an SQLAlchemy address (``postgresql://...``, ``sqlite:///...``), or None for
            the environment variable ``FLEETCAL_STORE`` and, without it, the user's own data folder.

    Raises:
        StoreError: If an address cannot be understood or names another kind of database.
    """
    named = where if where is not None else os.environ.get(VARIABLE) or None
    if named is None:
        folder = user_data_path("fleetcal", appauthor=False)
        return Location(path=folder / FILE_NAME, is_default=True)
    if isinstance(named, Path):
        return Location(path=named.expanduser())
    if not named.strip():
        from fleetcal.store.engines.kinds import EXAMPLE

        raise StoreError("the store's place is blank", f"name a file, or write {EXAMPLE}")
    if "://" in named:
        return _from_address(named)
    return Location(path=Path(named).expanduser())


def _from_address(address: str) -> Location:
    """Understand an SQLAlchemy address; the message never repeats it, it may hold a password."""
    from sqlalchemy.engine import make_url
    from sqlalchemy.exc import ArgumentError

    from fleetcal.store.engines.kinds import EXAMPLE, FILE, server_named

    hint = f"write {EXAMPLE}, or the path of a file"
    try:
        url = make_url(with_hosts_apart(address))
    except (ArgumentError, ValueError) as error:
        raise StoreError("the address of the store cannot be understood", hint) from error
    kind = url.get_backend_name()
    if kind == FILE.name:
        if not url.database or url.database == ":memory:":
            raise StoreError(f"an {kind} address without a file cannot be a store", hint)
        return Location(path=Path(url.database).expanduser())
    server = server_named(kind)
    if server is None:
        raise StoreError(f"a store cannot be kept in a {kind} database", hint)
    return Location(url=server.completed(url))
