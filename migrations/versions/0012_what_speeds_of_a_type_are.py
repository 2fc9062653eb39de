"""What the speeds of a type are: CAS, the IAS of one of its static sources, or unsaid."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("aircraft_type") as table:
        table.add_column(sa.Column("speeds_are", sa.Text(), nullable=False, server_default=""))
    with op.batch_alter_table("aircraft_type") as table:
        table.alter_column("speeds_are", server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("aircraft_type") as table:
        table.drop_column("speeds_are")
