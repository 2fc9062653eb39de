"""Who or what added, changed and removed rows, and when."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    table = "store_change"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("made_by", "act", "undone")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.CheckConstraint("length(trim(act)) > 0", name=op.f(f"ck_{table}_act_filled")),
    )
    table = "changed_row"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("store_change_id", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("act", "table_name")),
        sa.Column("row_id", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("airframe", "values_json")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.ForeignKeyConstraint(
            ["store_change_id"],
            ["store_change.id"],
            name=op.f(f"fk_{table}_store_change_id"),
            ondelete="RESTRICT",
        ),
        sa.CheckConstraint(
            "act IN ('added', 'changed', 'removed')", name=op.f(f"ck_{table}_act_known")
        ),
    )
    for columns in (["store_change_id"], ["table_name", "row_id"], ["airframe"]):
        op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, columns)


def downgrade() -> None:
    for table in ("changed_row", "store_change"):
        op.drop_table(table)
