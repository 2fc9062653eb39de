"""The SQL by which the owner of a store on a server gives rights to readers and writers.

GRANT ON ALL TABLES and ALTER DEFAULT PRIVILEGES are PostgreSQL's; the owner runs them, the
program never does. Writers only add to the history, and triggers hold them to it where rights
were given before (`history_guard`). They have the right to update the revision because locking
its row demands it; a trigger refuses them a change of it.
"""

from __future__ import annotations

from fleetcal.errors import DataError
from fleetcal.store.history_guard import KEPT
from fleetcal.store.location import locate
from fleetcal.store.schema_state import REVISION_TABLE

_LONGEST_NAME = 63  # bytes; a server cuts longer names off, and two could become one


def roles_sql(
    where: str | None,
    readers: tuple[str, ...],
    writers: tuple[str, ...],
    *,
    schema: str = "public",
    make: bool = True,
) -> str:
    """Return the statements that let roles read or write a store; nothing is run.

    Nobody is given the right to make or change tables: upgrades stay with the owner, whose
    later tables the statements cover too.

    Args:
        where: The store, as `locate` takes it; only its database's name is used.
        readers, writers: Roles.
        schema: Schema that the store's tables are in.
        make: Whether the roles are made first, as groups without a login.

    Raises:
        DataError: If a name cannot be one, or no role is named, or one is named twice.
    """
    named = (*readers, *writers)
    if not named:
        raise DataError("no role is named", "name one with --read or --write")
    if len(set(named)) < len(named):
        raise DataError("a role is named twice", "name each once; who may write may also read")
    url = locate(where).url
    lines = [
        "-- To be run by the owner of the database, in it. Readers can read all, writers also",
        "-- change rows; upgrades of the tables stay with the owner.",
    ]
    if make:
        lines += [f"CREATE ROLE {_quoted(name)} NOLOGIN;" for name in named]
    everybody = ", ".join(_quoted(name) for name in named)
    if url is not None and url.database:
        lines += [f"GRANT CONNECT ON DATABASE {_quoted(url.database)} TO {everybody};"]
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
