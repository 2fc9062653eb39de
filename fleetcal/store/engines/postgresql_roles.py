"""The SQL by which the owner of a store on a PostgreSQL server gives rights.

GRANT ON ALL TABLES and ALTER DEFAULT PRIVILEGES are PostgreSQL's. Writers only add to the history,
and triggers hold them to it where rights were given before (`postgresql_guard`). They have the
right to update the revision because locking its row demands it; a trigger refuses them a change
of it.
"""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.errors import DataError
from fleetcal.store.engines.guard import KEPT
from fleetcal.store.schema_state import REVISION_TABLE

_LONGEST_NAME = 63  # bytes; a server cuts longer names off, and two could become one


def roles_sql(
    database: str | None,
    readers: Sequence[str],
    writers: Sequence[str],
    *,
    schema: str,
    make: bool,
) -> str:
    """Return the statements; parameters and errors as in `Kind.roles_sql`."""
    lines = [
        "-- To be run by the owner of the database, in it. Readers can read all, writers also",
        "-- change rows; upgrades of the tables stay with the owner.",
    ]
    named = (*readers, *writers)
    if make:
        lines += [f"CREATE ROLE {_quoted(name)} NOLOGIN;" for name in named]
    everybody = ", ".join(_quoted(name) for name in named)
    if database:
        lines += [f"GRANT CONNECT ON DATABASE {_quoted(database)} TO {everybody};"]
    lines += [
        f"REVOKE CREATE ON SCHEMA {_quoted(schema)} FROM PUBLIC;",
        f"GRANT USAGE ON SCHEMA {_quoted(schema)} TO {everybody};",
        *_rights("SELECT", "TABLES", everybody, schema),
    ]
    if writers:
        lines += _writing(", ".join(_quoted(name) for name in writers), schema)
    return "\n".join(lines) + "\n"


def _writing(writers: str, schema: str) -> list[str]:
    """Return the rights of writers beside reading.

    A row lock takes the right to change, so they have it on the revision too; the right to
    count on (UPDATE of a sequence) is for a restored backup.
    """
    revision = f"{_quoted(schema)}.{_quoted(REVISION_TABLE)}"
    history = ", ".join(f"{_quoted(schema)}.{_quoted(table)}" for table in KEPT)
    return [
        *_rights("INSERT, UPDATE, DELETE", "TABLES", writers, schema),
        f"REVOKE INSERT, DELETE ON {revision} FROM {writers};",
        f"REVOKE UPDATE, DELETE ON {history} FROM {writers};",
        *_rights("USAGE, SELECT, UPDATE", "SEQUENCES", writers, schema),
    ]


def _rights(rights: str, objects: str, names: str, schema: str) -> list[str]:
    """Return statements for the things that are there and for those that will come."""
    there = _quoted(schema)
    return [
        f"GRANT {rights} ON ALL {objects} IN SCHEMA {there} TO {names};",
        f"ALTER DEFAULT PRIVILEGES IN SCHEMA {there} GRANT {rights} ON {objects} TO {names};",
    ]


def _quoted(name: str) -> str:
    """Return a name as SQL takes any name, whatever stands in it."""
    if not name.strip() or not name.isprintable() or len(name.encode()) > _LONGEST_NAME:
        raise DataError(
            f"{name!r} cannot be a name on a server",
            f"write 1 to {_LONGEST_NAME} printable characters",
        )
    return '"' + name.replace('"', '""') + '"'
