"""What the temperature display of an airframe shows, and the air that a leg was solved in."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import sqlite

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")
CHECKS = {
    "airframe": {
        "temperature_known": "temperature_shows IN ('ambient', 'probe')",
        "recovery_factor_range": "recovery_factor >= 0 AND recovery_factor <= 1",
        "recovery_factor_of_probe": "recovery_factor IS NULL OR temperature_shows = 'probe'",
    },
    "leg": {
        "recovery_factor_range": "recovery_factor >= 0 AND recovery_factor <= 1",
        "humidity_pct_range": "humidity_pct >= 0 AND humidity_pct <= 100",
    },
}
COLUMNS: dict[str, tuple[tuple[str, sa.types.TypeEngine[Any]], ...]] = {
    "airframe": (("temperature_shows", sa.Text()), ("recovery_factor", REAL)),
    "leg": (("recovery_factor", REAL), ("humidity_pct", REAL)),
}


def upgrade() -> None:
    for table, columns in COLUMNS.items():
        with op.batch_alter_table(table) as batch:
            for name, kind in columns:
                batch.add_column(sa.Column(name, kind, nullable=True))
            for name, condition in CHECKS[table].items():
                batch.create_check_constraint(op.f(f"ck_{table}_{name}"), condition)


def downgrade() -> None:
    for table, columns in COLUMNS.items():
        with op.batch_alter_table(table) as batch:
            for name in CHECKS[table]:
                batch.drop_constraint(op.f(f"ck_{table}_{name}"), type_="check")
            for name, _ in columns:
                batch.drop_column(name)
