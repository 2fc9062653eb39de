"""What a file or database is before anything is done to it: new, ours, or foreign."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fleetcal.store.messages import not_a_store

if TYPE_CHECKING:
    from sqlalchemy import Connection

# The upgrade step that this program's tables stand at; the tests hold it against the scripts.
NEWEST_REVISION = "0016"

# A name of our own rather than alembic's: it tells our stores from any other program's.
REVISION_TABLE = "fleetcal_revision"
ITS_REVISION = f"SELECT version_num FROM {REVISION_TABLE}"


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
    from sqlalchemy import inspect, text

    if holds_a_store(inspect(connection).get_table_names(), label):
        return SchemaState(connection.execute(text(ITS_REVISION)).scalar())
    return SchemaState(None)


def holds_a_store(tables: Collection[str], label: str) -> bool:
    """Tell by its tables whether a database holds a store; not if it is empty.

    Raises:
        NotAStoreError: If it holds somebody else's tables.
    """
    if tables and REVISION_TABLE not in tables:
        raise not_a_store(label, f"it holds other tables ({min(tables)} among them)")
    return bool(tables)
