"""Run the upgrade steps on a connection that the program hands over."""

from __future__ import annotations

from alembic import context

from fleetcal.store.models import Base
from fleetcal.store.schema_state import REVISION_TABLE

connection = context.config.attributes.get("connection")
if connection is None:
    raise RuntimeError("upgrade steps run through fleetcal.store only, on its own connection")

context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    version_table=REVISION_TABLE,
    # SQLite changes a table by rebuilding it, and can do so inside a transaction.
    render_as_batch=True,
    transactional_ddl=True,
    compare_type=True,
    compare_server_default=True,
)
with context.begin_transaction():
    context.run_migrations()
