"""The databases that a store can be kept in; another one is one module more and a line here."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import Dialect

from fleetcal.store.engines.dqlite import Dqlite
from fleetcal.store.engines.kind import ROWS, TABLES, WRITING, Kind, Passing
from fleetcal.store.engines.postgresql import Postgresql
from fleetcal.store.engines.sqlite import Sqlite, file_engine
from fleetcal.store.engines.sqlite_copy import copy_explained, keep_copy, remove_unfinished

__all__ = [
    "EXAMPLE",
    "FILE",
    "ROWS",
    "SERVERS",
    "TABLES",
    "WITH_ROLES",
    "WRITING",
    "Kind",
    "Passing",
    "copy_explained",
    "file_engine",
    "is_of_driver",
    "keep_copy",
    "kind_of",
    "remove_unfinished",
    "server_named",
    "whose_error",
]

#: A file.
FILE: Final = Sqlite()
#: Databases with an address, by the word that it begins with.
SERVERS: Final[dict[str, Kind]] = {kind.name: kind for kind in (Dqlite(), Postgresql())}
#: The one that knows users and their rights.
WITH_ROLES: Final = SERVERS[Postgresql.name]
#: What the address of a server looks like.
EXAMPLE: Final = f"{WITH_ROLES.name}://{WITH_ROLES.example}"
_KINDS: Final[tuple[Kind, ...]] = (FILE, *SERVERS.values())
_BY_NAME: Final = {kind.name: kind for kind in _KINDS}


def server_named(word: str) -> Kind | None:
    """Return the kind of server that an address begins with, None if there is no such kind."""
    return next((kind for kind in SERVERS.values() if word in (kind.name, kind.also_called)), None)


def kind_of(what: Connection | Engine | Dialect) -> Kind:
    """Return the kind of a database."""
    dialect = what if isinstance(what, Dialect) else what.dialect
    return _BY_NAME[dialect.name]


def whose_error(error: BaseException | None) -> Kind:
    """Return the kind of the database whose driver raised an error, the last if none claims it."""
    return next((kind for kind in _KINDS if kind.owns(error)), _KINDS[-1])


def is_of_driver(error: BaseException) -> bool:
    """Tell whether a driver raised an error itself, which SQLAlchemy did not wrap."""
    return any(kind.owns(error) for kind in _KINDS)
