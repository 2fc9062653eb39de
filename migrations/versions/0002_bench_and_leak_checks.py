"""Bench checks of instruments, leak checks of static systems, and files they come from."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import sqlite

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")
UTC_TIME = sa.DateTime(timezone=True)
KINDS = "kind IN ('log', 'leg_sheet', 'points')"
MORE_KINDS = "kind IN ('log', 'leg_sheet', 'points', 'measurement', 'bench')"


def upgrade() -> None:
    _set_kinds(MORE_KINDS)
    _create_bench_checks()
    _create_leak_checks()


def downgrade() -> None:
    for table in ("leak_check", "bench_row", "bench_check"):
        op.drop_table(table)
    # Their points stay, so the files they came from must have a kind that was known before.
    op.execute("UPDATE source_file SET kind = 'points' WHERE kind IN ('measurement', 'bench')")
    _set_kinds(KINDS)


def _set_kinds(condition: str) -> None:
    with op.batch_alter_table("source_file") as batch:
        batch.drop_constraint(op.f("ck_source_file_kind_known"), type_="check")
        batch.create_check_constraint(op.f("ck_source_file_kind_known"), condition)


def _create_bench_checks() -> None:
    table = "bench_check"
    _create(
        table,
        *_columns(sa.Integer(), "airframe_id", "source_file_id"),
        *_columns(sa.Text(), "kind"),
        *_columns(sa.Date(), "checked_on"),
        *_columns(REAL, "u"),
        *_columns(sa.Text(), "note", "withdrawn"),
        *_columns(UTC_TIME, "added_at"),
        _parent(table, "airframe_id", "airframe"),
        _parent(table, "source_file_id", "source_file"),
        _check(table, "kind_known", "kind IN ('airspeed', 'altimeter')"),
        _check(table, "u_positive", "u > 0"),
    )
    _index(table, "airframe_id", "kind", "checked_on")
    _index(table, "source_file_id")
    table = "bench_row"
    _create(
        table,
        *_columns(sa.Integer(), "bench_check_id"),
        *_columns(REAL, "indicated", "correction"),
        _parent(table, "bench_check_id", "bench_check"),
        sa.UniqueConstraint(
            "bench_check_id", "indicated", name=op.f("uq_bench_row_bench_check_id_indicated")
        ),
    )


def _create_leak_checks() -> None:
    table = "leak_check"
    _create(
        table,
        *_columns(sa.Integer(), "airframe_id"),
        *_columns(sa.Date(), "checked_on"),
        *_columns(REAL, "loss_ft", "limit_ft"),
        *_columns(sa.Text(), "limit_source"),
        *_columns(sa.Boolean(), "passed"),
        *_columns(sa.Text(), "note", "withdrawn"),
        *_columns(UTC_TIME, "added_at"),
        _parent(table, "airframe_id", "airframe"),
        _check(table, "loss_ft_range", "loss_ft >= 0"),
        _check(table, "passed_as_measured", "passed = (loss_ft <= limit_ft)"),
        _check(table, "limit_ft_positive", "limit_ft > 0"),
        _check(table, "limit_source_filled", "length(trim(limit_source)) > 0"),
    )
    _index(table, "airframe_id", "checked_on")


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


def _index(table: str, *columns: str) -> None:
    op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, list(columns))
