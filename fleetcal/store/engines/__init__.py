"""The databases that a store can be kept in; another one is one module more and a line here."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import Dialect

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
    "kind_of",
    "open_file_connection",
    "whose_error",
]

_FILE: Final = Sqlite()
#: Databases with an address, by the word that it begins with.
SERVERS: Final[dict[str, Kind]] = {kind.name: kind for kind in (Postgresql(),)}
# The last one claims every error that no other does.
_KINDS: Final[tuple[Kind, ...]] = (_FILE, *SERVERS.values())
_BY_NAME: Final = {kind.name: kind for kind in _KINDS}


def kind_of(what: Connection | Engine | Dialect) -> Kind:
    """Return the kind of a database."""
    dialect = what if isinstance(what, Dialect) else what.dialect
    return _BY_NAME[dialect.name]


def whose_error(error: BaseException | None) -> Kind:
    """Return the kind of the database whose driver raised an error."""
    return next(kind for kind in _KINDS if kind.owns(error))
