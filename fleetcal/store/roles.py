"""The SQL by which the owner of a store on a server gives rights to readers and writers.

The owner runs it, the program never does. Its words are each engine's own.
"""

from __future__ import annotations

from fleetcal.errors import DataError
from fleetcal.store.engines.kinds import WITH_ROLES, server_named
from fleetcal.store.location import locate


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
        DataError: If a name cannot be one, or no role is named, or one is named twice, or the
            database knows no roles.
    """
    named = (*readers, *writers)
    if not named:
        raise DataError("no role is named", "name one with --read or --write")
    if len(set(named)) < len(named):
        raise DataError("a role is named twice", "name each once; who may write may also read")
    url = locate(where).url
    kind = (server_named(url.get_backend_name()) if url is not None else None) or WITH_ROLES
    database = url.database if url is not None else None
    return kind.roles_sql(database, readers, writers, schema=schema, make=make)
