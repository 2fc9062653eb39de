"""Speeds that a handbook names, and issues of published tables with what went in."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import sqlite

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")


def upgrade() -> None:
    _create_speeds()
    _create_issues()


def downgrade() -> None:
    for table in ("published_issue", "handbook_speed"):
        op.drop_table(table)


def _create_speeds() -> None:
    table = "handbook_speed"
    _create(
        table,
        *_columns(sa.Integer(), "handbook_curve_id"),
        *_columns(sa.Text(), "name"),
        *_columns(REAL, "ias_kt"),
        _parent(table, "handbook_curve_id", "handbook_curve"),
        _unique(table, "handbook_curve_id", "name"),
        _check(table, "name_filled", "length(trim(name)) > 0"),
        _check(table, "ias_kt_positive", "ias_kt > 0"),
    )


def _create_issues() -> None:
    table = "published_issue"
    words = ("group_name", "flap_setting", "why", "program_version")
    _create(
        table,
        *_columns(sa.Integer(), "aircraft_type_id"),
        *_columns(sa.Text(), "group_name", "flap_setting"),
        *_columns(sa.Integer(), "number"),
        *_columns(sa.Date(), "issued_on"),
        *_columns(
            sa.Text(),
            *("why", "inputs_json", "inputs_sha256", "table_json", "table_sha256"),
            *("files_json", "model", "program_version", "withdrawn"),
        ),
        sa.Column("withdrawn_on", sa.Date(), nullable=True),
        *_columns(sa.DateTime(timezone=True), "added_at"),
        _parent(table, "aircraft_type_id", "aircraft_type"),
        _unique(table, "aircraft_type_id", "group_name", "flap_setting", "number"),
        _check(table, "inputs_sha256_length", "length(inputs_sha256) = 64"),
        _check(table, "table_sha256_length", "length(table_sha256) = 64"),
        _check(table, "withdrawn_with_day", "(length(withdrawn) > 0) = (withdrawn_on IS NOT NULL)"),
        *(_check(table, f"{name}_filled", f"length(trim({name})) > 0") for name in words),
        _check(table, "number_positive", "number > 0"),
    )


def _create(table: str, *parts: Any) -> None:
    key = sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}"))
    op.create_table(table, sa.Column("id", sa.Integer(), nullable=False), *parts, key)


def _columns(kind: Any, *names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, kind, nullable=False) for name in names]


def _parent(table: str, column: str, parent: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}")
    return sa.ForeignKeyConstraint([column], [f"{parent}.id"], name=name, ondelete="RESTRICT")


def _check(table: str, name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=op.f(f"ck_{table}_{name}"))


def _unique(table: str, *columns: str) -> sa.UniqueConstraint:
    return sa.UniqueConstraint(*columns, name=op.f(f"uq_{table}_{'_'.join(columns)}"))
