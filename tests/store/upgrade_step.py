"""An upgrade step that rebuilds every table other tables refer to."""

from __future__ import annotations

from fleetcal.store.schema_state import NEWEST_REVISION

NEWEST = NEWEST_REVISION
NEXT = f"{int(NEWEST) + 1:04d}"
REBUILDING = """
from __future__ import annotations
import sqlalchemy as sa
from alembic import op
revision = "NEXT"
down_revision = "NEWEST"
branch_labels = None
depends_on = None
PARENTS = ["aircraft_type", "static_source", "engine", "propeller", "airframe", "equipment_fit",
           "source_file", "sortie", "calibration_point", "handbook_curve"]

def upgrade() -> None:
    for table in PARENTS:
        with op.batch_alter_table(table, recreate="auto") as batch:
            batch.add_column(sa.Column("remark", sa.Text(), nullable=True))
            batch.create_check_constraint(op.f(f"ck_{table}_remark"), "remark <> ''")

def downgrade() -> None:
    for table in PARENTS:
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(op.f(f"ck_{table}_remark"), type_="check")
            batch.drop_column("remark")
""".replace("NEXT", NEXT).replace("NEWEST", NEWEST)
