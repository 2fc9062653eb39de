"""PostgreSQL: a store on a server, alone or with copies, also behind a pooler of connections.

A writer locks the row with the store's revision, for the same reason for which a writer of a
file begins with its lock: FOR SHARE if it says what it touches, else FOR UPDATE. Row locks alone
would let those who share overtake one who waits for all of them, for ever; so the latter first
locks the table in EXCLUSIVE mode, for which the server keeps a queue: every row lock takes the
table in ROW SHARE mode, and comes behind. Older programs only lock the row FOR UPDATE, which both
respect. Who makes or upgrades tables has no such row at first and begins
without it: of two programs that begin one store the later is refused the first table
(SQLSTATE 42P07 or 23505), looks again and finds the store. A reader takes no lock and sees one
state. Nothing here outlasts its transaction, because a pooler may give the next one to another
connection.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, ClassVar, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, func, select, text

from fleetcal.errors import DataError, FleetcalError, ReadOnlyStoreError, StoreError
from fleetcal.store.addresses import connecting
from fleetcal.store.engines.kind import WRITING, Kind, Passing, locked_by_row
from fleetcal.store.engines.postgresql_guard import PostgresqlGuard
from fleetcal.store.engines.postgresql_roles import roles_sql
from fleetcal.store.messages import busy, collided, first_line, unreachable

# Its own five-character codes (its manual, appendix "Error Codes"); the first two are
# "serialization_failure" (ISO 9075) and "deadlock_detected".
COLLIDED: Final = frozenset({"40001", "40P01"})
_BUSY: Final = "55P03"
_READ_ONLY: Final = "25006"
_NO_RIGHT: Final = "42501"
# Of two programs that make one table the later is told that it is there, or that its name is.
_MADE_MEANWHILE: Final = frozenset({"42P07", "23505"})
# Of a connection that was lost, or a server that is stopping or starting.
_AWAY: Final = ("08", "57P")
# Words of a server that will soon be there, and of one that will not come right by waiting; where
# a connection is refused there is no code.
_SOON: Final = re.compile(
    r"starting up|shutting down|recovery mode|not yet accepting|session is read-only"
    r"|server login has been failing|server_login_retry|query_wait_timeout|terminating connection"
)
_NEVER: Final = re.compile(
    r"authentication|password|pg_hba|does not exist|not known|translate host|resolve|invalid"
    r"|certificate|permission denied|SSL"
)
_ASK_OWNER: Final = "ask the owner of the database; fleetcal store roles --help tells how"


class Postgresql(Kind):
    """A database on a PostgreSQL server."""

    name = "postgresql"
    is_shared = True
    also_called = "postgres"  # as its own programs also have it
    reading: ClassVar[dict[str, Any]] = {
        "isolation_level": "REPEATABLE READ",
        "postgresql_readonly": True,
    }
    # What stands there once the lock is held must be seen, whatever the server's usual level.
    writing: ClassVar[dict[str, Any]] = {"isolation_level": "READ COMMITTED"}
    guard = PostgresqlGuard()
    extra = "postgres"
    example = "user@host/database"

    def completed(self, url: URL) -> URL:
        """Return the address with psycopg unless it names another driver."""
        driver = url.drivername.partition("+")[2] or "psycopg"
        return url.set(drivername=f"{self.name}+{driver}")

    def engine(self, url: URL, *, patience_s: float) -> Engine:
        """Return an engine; see `Kind.engine`."""
        # Between a program and its server may stand one that lends out a connection for each
        # transaction: what psycopg prepares on one is not there, or there twice, on the next.
        usual = {"prepare_threshold": None, **connecting(url)}
        engine = create_engine(url, pool_pre_ping=True, connect_args=usual)

        @event.listens_for(engine, "begin")
        def begin(connection: Connection) -> None:
            if connection.get_execution_options().get(WRITING):
                milliseconds = max(1, round(patience_s * 1000))
                connection.exec_driver_sql(f"SET LOCAL lock_timeout = {milliseconds}")

        return engine

    def lock(self, connection: Connection, revisions: str, *, sharing: bool) -> None:
        """Lock the row with the store's revision, and its table; see `Kind.lock`."""
        if sharing:
            locked_by_row(connection, revisions, "SHARE")
            return
        connection.execute(text(f"LOCK TABLE {revisions} IN EXCLUSIVE MODE"))
        locked_by_row(connection, revisions, "UPDATE")

    def numbers(self, table: Any, connection: Connection, count: int) -> list[int]:
        """Return the next numbers of the table's counter, which nobody else is given."""
        counted = text(
            "SELECT nextval(pg_get_serial_sequence(:name, 'id')) FROM generate_series(1, :count)"
        )
        return list(connection.scalars(counted, {"name": table.name, "count": count}))

    def number_on(self, table: Any, connection: Connection) -> None:
        """Let the table's counter go on behind the highest number."""
        last = connection.execute(select(func.max(table.c.id))).scalar()
        sequence = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last, :used)")
        values = {"name": table.name, "last": last or 1, "used": last is not None}
        connection.execute(sequence, values)

    def login(self, connection: Connection) -> str:
        """Return the user that the session began with, which no statement of a user changes."""
        return str(connection.execute(text("SELECT SESSION_USER")).scalar())

    def owns(self, error: BaseException | None) -> bool:
        """Tell whether an error is of a driver that gives such codes."""
        return hasattr(error, "sqlstate")

    def passing(self, error: BaseException | None, *, known: bool) -> Passing | None:
        """Tell by the code, and where a connection failed by the words; see `Kind.passing`."""
        code = server_code(error)
        if code in COLLIDED:
            return Passing.COLLIDED
        if code.startswith(_AWAY) or (known and code == _READ_ONLY):
            return Passing.AWAY
        if code or type(error).__name__ not in ("OperationalError", "ConnectionTimeout"):
            return None
        words = str(error)
        soon = bool(_SOON.search(words)) or (known and not _NEVER.search(words))
        return Passing.AWAY if soon else None

    def made_meanwhile(self, error: BaseException | None) -> bool:
        """Tell it by the code; see `Kind.made_meanwhile`."""
        return server_code(error) in _MADE_MEANWHILE

    def lacks_right(self, error: BaseException | None) -> bool:
        """Tell it by the code; see `Kind.lacks_right`."""
        return server_code(error) == _NO_RIGHT

    def broken_rule(self, error: BaseException | None) -> str:
        """Return the rule's name, which the driver has apart; see `Kind.broken_rule`."""
        name = getattr(getattr(error, "diag", None), "constraint_name", None)
        return str(name) if name else super().broken_rule(error)

    def roles_sql(
        self,
        database: str | None,
        readers: Sequence[str],
        writers: Sequence[str],
        *,
        schema: str,
        make: bool,
    ) -> str:
        """Return it in the server's own words; see `postgresql_roles`."""
        return roles_sql(database, readers, writers, schema=schema, make=make)

    def explain(self, error: BaseException, label: str, statement: str) -> FleetcalError:
        """Explain by the code; see `Kind.explain`."""
        code = server_code(error)
        if code in COLLIDED:
            return collided(label)
        if code == _BUSY:
            return busy(label)
        if code == _NO_RIGHT:
            return _no_right(label, statement)
        if code == _READ_ONLY:
            return ReadOnlyStoreError(
                f"{label} cannot be written: the server is read-only",
                "ask the owner of the database",
            )
        if code == "53100":
            return StoreError(
                f"{label}: the server's disk is full",
                "ask its keeper to make room; nothing was stored",
            )
        if not code or code.startswith(("28", "3D", *_AWAY)):
            return unreachable(label, error)
        if code.startswith("22"):
            return DataError(f"{label}: a value was refused: {first_line(error)}")
        return StoreError(
            f"{label}: {first_line(error)}",
            "show this to the database's keeper; nothing was stored",
        )


def server_code(error: BaseException | None) -> str:
    """Return the five-character code of a driver's error, empty if it has none."""
    return str(getattr(error, "sqlstate", None) or "")


def _no_right(label: str, statement: str) -> FleetcalError:
    """Explain what the server's user has no right to; a lock is wanted by writers only."""
    words = statement.upper().split()
    if words[:2] == ["ALTER", "TABLE"]:
        return ReadOnlyStoreError(
            f"{label}: a backup replaces the history, which this user may only add to",
            "ask the owner of the database to bring the backup back",
        )
    if words[:1] == ["SELECT"] and words[-2:-1] != ["FOR"]:
        return StoreError(
            f"{label}: this user may not even read the store", f"{_ASK_OWNER} rights are given"
        )
    return ReadOnlyStoreError(
        f"{label}: this user may read the store but not write it", f"{_ASK_OWNER} rights are given"
    )
