"""Terms of a budget say whose error they are: of the point, sortie, airframe or fleet."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

TABLE = "uncertainty_term"
KNOWN = "owner IN ('point', 'sortie', 'airframe', 'fleet')"
LASTING = "'outside-air temperature', 'airspeed indicator', 'altimeter'"
OWNER = f"""CASE WHEN NOT shared THEN 'point'
    WHEN name IN ({LASTING}) THEN 'airframe'
    WHEN name = 'recovery factor' THEN 'fleet'
    ELSE 'sortie' END"""


def upgrade() -> None:
    op.add_column(TABLE, sa.Column("owner", sa.Text(), nullable=False, server_default="point"))
    op.execute(f"UPDATE {TABLE} SET owner = {OWNER} WHERE shared")
    with op.batch_alter_table(TABLE) as batch:
        batch.alter_column("owner", existing_type=sa.Text(), server_default=None)
        batch.create_check_constraint(op.f(f"ck_{TABLE}_owner_known"), KNOWN)
        batch.drop_column("shared")


def downgrade() -> None:
    op.add_column(
        TABLE, sa.Column("shared", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    op.execute(f"UPDATE {TABLE} SET shared = (owner <> 'point')")
    with op.batch_alter_table(TABLE) as batch:
        batch.alter_column("shared", existing_type=sa.Boolean(), server_default=None)
        batch.drop_constraint(op.f(f"ck_{TABLE}_owner_known"), type_="check")
        batch.drop_column("owner")
