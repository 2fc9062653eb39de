"""A history that is only added to: chained by hash, and the state in which changes left rows.

The links and states of what a store holds are worked out by the upgrade itself, see
`fleetcal.store.history_upgrade`.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from fleetcal.store import history_guard

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

CHANGE = "store_change"
CHECK = f"ck_{CHANGE}_name_from_known"


def upgrade() -> None:
    with op.batch_alter_table(CHANGE) as batch:
        batch.add_column(
            sa.Column("name_from", sa.Text(), nullable=False, server_default="claimed")
        )
        batch.create_check_constraint(op.f(CHECK), "name_from IN ('server', 'machine', 'claimed')")
    table = "history_link"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("store_change_id", sa.Integer(), nullable=True),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("note", "content", "hash")),
        _refers(table, "store_change"),
        sa.UniqueConstraint("store_change_id", name=op.f(f"uq_{table}_store_change_id")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
    )
    table = "row_state"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("store_change_id", sa.Integer(), nullable=True),
        sa.Column("history_link_id", sa.Integer(), nullable=True),
        sa.Column("table_name", sa.Text(), nullable=False),
        sa.Column("row_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        _refers(table, "store_change"),
        _refers(table, "history_link"),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
    )
    for columns in (["store_change_id"], ["history_link_id"], ["table_name", "row_id"]):
        op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, columns)
    history_guard.put_up(op.get_bind())


def _refers(table: str, parent: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{parent}_id")
    ends = ([f"{parent}_id"], [f"{parent}.id"])
    return sa.ForeignKeyConstraint(*ends, name=name, ondelete="RESTRICT")


def downgrade() -> None:
    history_guard.take_down(op.get_bind())
    op.drop_table("row_state")
    op.drop_table("history_link")
    _mark_taken_back(op.get_bind())
    with op.batch_alter_table(CHANGE) as batch:
        batch.drop_constraint(op.f(CHECK), type_="check")
        batch.drop_column("name_from")


def _mark_taken_back(connection: sa.Connection) -> None:
    """Let changes say themselves that they were taken back, and entries about the history go."""
    query = sa.text(
        "SELECT r.row_id, r.act, c.id, c.made_at, c.made_by FROM changed_row AS r"
        " JOIN store_change AS c ON c.id = r.store_change_id WHERE r.table_name = 'store_change'"
    )
    for row in connection.execute(query).all():
        if row.act == "changed":
            words = f"{str(row.made_at)[:19]} UTC by {row.made_by}"
            marking = sa.text("UPDATE store_change SET undone = :words WHERE id = :number")
            connection.execute(marking, {"words": words, "number": row.row_id})
        for table, column in (("changed_row", "store_change_id"), (CHANGE, "id")):
            gone = sa.text(f"DELETE FROM {table} WHERE {column} = :number")
            connection.execute(gone, {"number": row.id})
