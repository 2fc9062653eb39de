"""Logs kept in the store; and when climbs and glides were added, apart from decisions on them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

CLIMBS = "climb_measurement"


def upgrade() -> None:
    with op.batch_alter_table(CLIMBS) as batch:
        batch.add_column(sa.Column("added_at", sa.DateTime(timezone=True), nullable=True))
    # Until now nothing could be decided on them after they were added.
    op.execute(f"UPDATE {CLIMBS} SET added_at = decided_at")
    with op.batch_alter_table(CLIMBS) as batch:
        batch.alter_column("added_at", nullable=False)
    table = "kept_log"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("source_file_id", sa.Integer(), nullable=False),
        sa.Column("file_bytes", sa.BigInteger(), nullable=False),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["source_file_id"],
            ["source_file.id"],
            name=op.f(f"fk_{table}_source_file_id"),
            ondelete="RESTRICT",
        ),
        sa.UniqueConstraint("source_file_id", name=op.f(f"uq_{table}_source_file_id")),
        sa.CheckConstraint("file_bytes > 0", name=op.f(f"ck_{table}_file_bytes_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
    )
    table = "log_piece"
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kept_log_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["kept_log_id"],
            ["kept_log.id"],
            name=op.f(f"fk_{table}_kept_log_id"),
            ondelete="RESTRICT",
        ),
        sa.UniqueConstraint("kept_log_id", "number", name=op.f(f"uq_{table}_kept_log_id_number")),
        sa.CheckConstraint("number > 0", name=op.f(f"ck_{table}_number_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
    )


def downgrade() -> None:
    op.drop_table("log_piece")
    op.drop_table("kept_log")
    with op.batch_alter_table(CLIMBS) as batch:
        batch.drop_column("added_at")
