"""Triggers of an SQLite file that keep the history as it was written."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection

from fleetcal.store.engines.guard import KEPT, REFUSAL, Guard

_TRIGGERS: Final = {
    f"{table}_{verb}": f"CREATE TRIGGER {table}_{verb} BEFORE {act} ON {table} "
    f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    for table in KEPT
    for verb, act in (("stays", "UPDATE"), ("remains", "DELETE"))
}


class SqliteGuard(Guard):
    """Nothing is changed or deleted; whoever may write the file could remove the triggers."""

    def put_up(self, connection: Connection) -> None:
        """Make the triggers that are not there; tables that are rebuilt lose theirs."""
        for name in self.missing(connection):
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
            connection.exec_driver_sql(_TRIGGERS[name])

    def take_down(self, connection: Connection) -> None:
        """Remove the triggers."""
        for name in _TRIGGERS:
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")

    def lift(self, connection: Connection) -> None:
        """Remove them within the transaction."""
        self.take_down(connection)

    def put_back(self, connection: Connection) -> None:
        """Make them again."""
        self.put_up(connection)

    def missing(self, connection: Connection) -> list[str]:
        """Return the names of those that are not there, or say something else."""
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        found = {row[0]: row[1] for row in connection.exec_driver_sql(query)}
        return [name for name, sql in _TRIGGERS.items() if found.get(name) != sql]
