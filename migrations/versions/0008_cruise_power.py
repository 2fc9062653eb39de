"""Power of the runs flown in level flight, and cruise tables of handbooks."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import sqlite

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")
POWER, BOOK = "cruise_power", "handbook_cruise"
BOOK_KEY = ["aircraft_type_id", "engine_id", "propeller_id", "name", "power_pct"]


def upgrade() -> None:
    op.create_table(
        POWER,
        sa.Column("id", sa.Integer(), nullable=False),
        *_columns(sa.Integer(), "calibration_point_id"),
        *_columns(REAL, "power_pct", "u_power_pct"),
        *_columns(sa.Text(), "basis", "origin", "note"),
        *_columns(sa.DateTime(timezone=True), "noted_at"),
        _refers(POWER, "calibration_point_id", "calibration_point"),
        sa.UniqueConstraint("calibration_point_id", name=op.f(f"uq_{POWER}_calibration_point_id")),
        _check(POWER, "power_pct_range", "power_pct > 0 AND power_pct <= 130"),
        _check(POWER, "basis_known", "basis IN ('actual', 'standard air')"),
        _check(POWER, "origin_known", "origin IN ('hand', 'file', 'log')"),
        _check(POWER, "u_power_pct_positive", "u_power_pct > 0"),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{POWER}")),
    )
    key = [*BOOK_KEY, "pressure_altitude_ft"]
    op.create_table(
        BOOK,
        sa.Column("id", sa.Integer(), nullable=False),
        *_columns(sa.Integer(), "aircraft_type_id", "engine_id", "propeller_id"),
        *_columns(sa.Text(), "name"),
        *_columns(REAL, "weight_kg", "power_pct", "pressure_altitude_ft", "tas_kt"),
        _refers(BOOK, "aircraft_type_id", "aircraft_type"),
        _refers(BOOK, "engine_id", "engine"),
        _refers(BOOK, "propeller_id", "propeller"),
        sa.UniqueConstraint(*key, name=op.f(f"uq_{BOOK}_line")),
        _check(BOOK, "power_pct_range", "power_pct > 0 AND power_pct <= 130"),
        _check(BOOK, "name_filled", "length(trim(name)) > 0"),
        _check(BOOK, "weight_kg_positive", "weight_kg > 0"),
        _check(BOOK, "tas_kt_positive", "tas_kt > 0"),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{BOOK}")),
    )
    for column in ("engine_id", "propeller_id"):
        op.create_index(op.f(f"ix_{BOOK}_{column}"), BOOK, [column])


def downgrade() -> None:
    op.drop_table(BOOK)
    op.drop_table(POWER)


def _columns(kind: Any, *names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, kind, nullable=False) for name in names]


def _refers(table: str, column: str, parent: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{parent}.id"], name=op.f(f"fk_{table}_{column}"), ondelete="RESTRICT"
    )


def _check(table: str, name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=op.f(f"ck_{table}_{name}"))
