"""SQL compiled once for all stores of a process.

A command opens one store and compiles its statements; tests open thousands, for which nearly half
of the work would be to compile the same statements again. What SQLAlchemy compiles is kept by the
statement and its dialect, and each engine makes a dialect of its own: here all engines keep it in
one place, and dialects of one kind that know the same server count as one. The place is bounded,
since an upgrade step makes tables anew each time.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Engine, create_engine
from sqlalchemy.engine.default import DefaultDialect
from sqlalchemy.util import LRUCache

from fleetcal.store.engines import postgresql, sqlite

_compiled: LRUCache[Any, Any] = LRUCache(1000)


def compile_once() -> None:
    """Let every engine that stores are opened with from now on share what is compiled."""
    for module in (sqlite, postgresql):
        if module.create_engine is not _sharing_engine:
            assert module.create_engine is create_engine, "engines are made elsewhere now"
            vars(module)["create_engine"] = _sharing_engine
    setattr(DefaultDialect, "__hash__", lambda self: hash(_kind(self)))  # noqa: B010
    setattr(DefaultDialect, "__eq__", lambda self, other: _kind(self) == _kind(other))  # noqa: B010


def _sharing_engine(address: Any, **given: Any) -> Engine:
    return create_engine(address, execution_options={"compiled_cache": _compiled}, **given)


def _kind(dialect: object) -> tuple[object, object]:
    return type(dialect), getattr(dialect, "server_version_info", None)
