"""The databases that a store can be kept in; another one is one module more and a line here."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import Dialect

from fleetcal.store.engines.dqlite import Dqlite
from fleetcal.store.engines.kind import ROWS, TABLES, WRITING, Kind, Passing
from fleetcal.store.engines.postgresql import Postgresql
from fleetcal.store.engines.sqlite import Sqlite, file_engine, open_file_connection

__all__ = [
    "ROWS",
    "SERVERS",
    "TABLES",
    "WRITING",
    "Kind",
    "Passing",
    "file_engine",
    "is_of_driver",
    "kind_of",
    "open_file_connection",
    "whose_error",
]

_FILE: Final = Sqlite()
#: Databases with an address, by the word that it begins with.
SERVERS: Final[dict[str, Kind]] = {kind.name: kind for kind in (Dqlite(), Postgresql())}
_KINDS: Final[tuple[Kind, ...]] = (_FILE, *SERVERS.values())
_BY_NAME: Final = {kind.name: kind for kind in _KINDS}


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
