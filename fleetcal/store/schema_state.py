"""What a file or database is before anything is done to it: new, ours, or foreign."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, inspect, text

from fleetcal.store.messages import not_a_store

# The upgrade step that this program's tables stand at; the tests hold it against the scripts.
NEWEST_REVISION = "0016"

# A name of our own rather than alembic's: it tells our stores from any other program's.
REVISION_TABLE = "fleetcal_revision"


@dataclass(frozen=True)
class SchemaState:
    """What was found.

    Attributes:
        revision: Upgrade step of the store; None when there are no tables yet.
    """

    revision: str | None

    @property
    def is_current(self) -> bool:
        """Whether the store can be used as it is."""
        return self.revision == NEWEST_REVISION


def read_schema_state(connection: Connection, label: str) -> SchemaState:
    """Find out whether the database is empty or a store, and of which revision.

    Args:
        label: How the store is called in messages.

    Raises:
        NotAStoreError: If it holds somebody else's tables.
    """
    tables = set(inspect(connection).get_table_names())
    if REVISION_TABLE in tables:
        query = text(f"SELECT version_num FROM {REVISION_TABLE}")
        return SchemaState(connection.execute(query).scalar())
    if tables:
        raise not_a_store(label, f"it holds other tables ({min(tables)} among them)")
    return SchemaState(None)
