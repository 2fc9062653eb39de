"""Measured climbs and glides."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import sqlite

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")
TABLE = "climb_measurement"


def upgrade() -> None:
    above_zero = ("number", "weight_kg", "vic_kt", "u_own_ftmin")
    op.create_table(
        TABLE,
        sa.Column("id", sa.Integer(), nullable=False),
        *_columns(sa.Integer(), "sortie_id", "number", "ways"),
        *_columns(sa.Text(), "kind", "power_state", "flap_setting", "reason"),
        *_columns(
            REAL,
            *("weight_kg", "vic_kt", "pressure_altitude_ft", "oat_degc", "indicated_rate_ftmin"),
            *("rate_ftmin", "u_own_ftmin", "u_shared_ftmin", "thrust_rate_ftmin"),
        ),
        *_columns(sa.Boolean(), "accepted"),
        *_columns(sa.DateTime(timezone=True), "decided_at"),
        sa.ForeignKeyConstraint(
            ["sortie_id"],
            ["sortie.id"],
            name=op.f(f"fk_{TABLE}_sortie_id"),
            ondelete="RESTRICT",
        ),
        sa.UniqueConstraint("sortie_id", "number", name=op.f(f"uq_{TABLE}_sortie_id_number")),
        _check("kind_known", "kind IN ('climb', 'glide')"),
        _check("rate_of_kind", "(kind = 'climb') = (rate_ftmin > 0)"),
        _check("rejected_with_reason", "accepted OR length(trim(reason)) > 0"),
        _check("oat_degc_range", "oat_degc > -273.15"),
        _check("thrust_rate_ftmin_range", "thrust_rate_ftmin >= 0"),
        _check("ways_known", "ways IN (1, 2)"),
        *(_check(f"{n}_filled", f"length(trim({n})) > 0") for n in ("power_state", "flap_setting")),
        *(_check(f"{name}_positive", f"{name} > 0") for name in above_zero),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{TABLE}")),
    )


def downgrade() -> None:
    op.drop_table(TABLE)


def _columns(kind: Any, *names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, kind, nullable=False) for name in names]


def _check(name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=op.f(f"ck_{TABLE}_{name}"))
