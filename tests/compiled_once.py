"""SQL compiled once for all stores of a process.

A command opens one store and compiles its statements; tests open thousands, for which most of
the work would be to compile the same statements again. What SQLAlchemy compiles belongs to a
dialect, and each engine makes one of its own: here the engines of a kind share the first that
was connected, and a place for what it compiled. The place is bounded, since an upgrade step
makes tables anew each time.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Dialect, Engine, create_engine, event
from sqlalchemy.util import LRUCache

from fleetcal.store.engines import postgresql, sqlite

_dialects: dict[str, Dialect] = {}
_compiled: LRUCache[Any, Any] = LRUCache(1000)


def compile_once() -> None:
    """Let every engine that stores are opened with from now on share what is compiled."""
    for module in (sqlite, postgresql):
        if module.create_engine is not _sharing_engine:
            assert module.create_engine is create_engine, "engines are made elsewhere now"
            vars(module)["create_engine"] = _sharing_engine


def _sharing_engine(address: Any, **given: Any) -> Engine:
    engine = create_engine(address, execution_options={"compiled_cache": _compiled}, **given)
    name = engine.dialect.name
    if name in _dialects:
        engine.dialect = _dialects[name]
    else:
        event.listen(engine, "engine_connect", _remember)
    return engine


def _remember(connection: Connection) -> None:
    """Keep a dialect that knows its server."""
    _dialects.setdefault(connection.dialect.name, connection.dialect)
