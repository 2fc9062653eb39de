"""dqlite: SQLite's tables on several machines that vote on every change (Raft).

Any of the hosts in the address may answer; the driver goes on to the one that leads. A writer
begins with BEGIN IMMEDIATE, as on a file, and is the only one in the cluster. References are
always looked after there, so that tables cannot be rebuilt under rows: an older store with rows
is backed up into a file, which any command upgrades, and restored. The driver needs Python 3.13.
"""

from __future__ import annotations

from functools import cache
from typing import Any, ClassVar

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.engine import Dialect

from fleetcal.errors import FleetcalError
from fleetcal.store.addresses import hosts_of
from fleetcal.store.engines.kind import Passing
from fleetcal.store.engines.sqlite import Sqlite
from fleetcal.store.messages import unreachable

# Of one host that does not answer, before the next one is tried.
_DIAL_S = 3.0


class Dqlite(Sqlite):
    """A database of a cluster."""

    name = "dqlite"
    is_file = False
    reading: ClassVar[dict[str, Any]] = {"dqlite_session_mode": "read_only"}
    writing: ClassVar[dict[str, Any]] = {"dqlite_session_mode": "immediate"}
    extra = "dqlite"
    example = "host:9001,host:9001/database"

    def engine(self, url: URL, *, patience_s: float) -> Engine:
        """Return an engine; see `Kind.engine`."""
        hosts = hosts_of(url)
        usual = {"busy_timeout": patience_s, "check_same_thread": False, "dial_timeout": _DIAL_S}
        engine = create_engine(
            url.difference_update_query(["host"]), pool_pre_ping=True, connect_args=usual
        )
        errors = engine.dialect.loaded_dbapi.Error

        @event.listens_for(engine, "do_connect")
        def connect(dialect: Dialect, _record: object, words: Any, named: dict[str, Any]) -> Any:
            for host in hosts:
                connection = dialect.connect(*words, **{**named, "address": host})
                try:
                    connection.connect()  # which otherwise waits for the first statement
                except errors:
                    connection.force_close_transport()
                    if host == hosts[-1]:
                        raise
                else:
                    return connection
            return None

        return engine

    def refuse_mixture(self, connection: Connection, label: str) -> None:
        """Pass: a cluster's parts are its own to keep together."""

    def ready_to_upgrade(self) -> None:
        """Let alembic know that its tables are made as SQLite's are."""
        _alembic_knows()

    def owns(self, error: BaseException | None) -> bool:
        """Tell whether an error is of this driver."""
        return type(error).__module__.startswith("dqlite")

    def passing(self, error: BaseException | None, *, known: bool) -> Passing | None:
        """Tell whether the leader was lost, or there is none as yet; see `Kind.passing`."""
        from sqlalchemydqlite import DqliteDialect  # type: ignore[import-not-found, unused-ignore]

        lost = DqliteDialect().is_disconnect(error, None, None)
        return Passing.AWAY if lost and known else None

    def explain(self, error: BaseException, label: str, statement: str) -> FleetcalError:
        """Explain as SQLite's own errors where the cluster answers; see `Kind.explain`."""
        if self.passing(error, known=True) is Passing.AWAY:
            return unreachable(label, error)
        return super().explain(error, label, statement)


@cache
def _alembic_knows() -> None:
    from alembic.ddl.sqlite import SQLiteImpl  # costs start-up time

    type("DqliteImpl", (SQLiteImpl,), {"__dialect__": Dqlite.name})
