"""Whether a propeller's pitch is fixed in flight: how its thrust grows with airspeed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

KNOWN = "pitch IN ('', 'fixed', 'constant speed')"


def upgrade() -> None:
    with op.batch_alter_table("propeller") as table:
        table.add_column(sa.Column("pitch", sa.Text(), nullable=False, server_default=""))
        table.create_check_constraint(op.f("ck_propeller_pitch_known"), KNOWN)
    with op.batch_alter_table("propeller") as table:
        table.alter_column("pitch", server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("propeller") as table:
        table.drop_constraint(op.f("ck_propeller_pitch_known"), type_="check")
        table.drop_column("pitch")
