"""A point's kappa lies above -1, where mathematics ends; how large it may be, evidence says."""

from __future__ import annotations

from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

TABLE = "calibration_point"
CHECK = f"ck_{TABLE}_kappa_range"


def upgrade() -> None:
    with op.batch_alter_table(TABLE) as batch:
        batch.create_check_constraint(op.f(CHECK), "kappa > -1")


def downgrade() -> None:
    with op.batch_alter_table(TABLE) as batch:
        batch.drop_constraint(op.f(CHECK), type_="check")
