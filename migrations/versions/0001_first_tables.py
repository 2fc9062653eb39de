"""The first tables of the store."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import sqlite

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")
UTC_TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    _create_equipment()
    _create_airframes()
    _create_handbooks()
    _create_flights()
    _create_points()


def downgrade() -> None:
    for table in (
        "uncertainty_term",
        "calibration_point",
        "leg",
        "sortie",
        "source_file",
        "handbook_point",
        "handbook_curve",
        "equipment_fit",
        "airframe",
        "propeller",
        "engine",
        "static_source",
        "aircraft_type",
    ):
        op.drop_table(table)


def _create_equipment() -> None:
    known = ("reference_weight_kg", "scaling_speed_kt")
    unknown = (
        "wing_area_m2",
        "stall_speed_clean_kt",
        "stall_speed_landing_kt",
        "flap_limit_kt",
        "manoeuvring_speed_kt",
        "never_exceed_kt",
    )
    table = "aircraft_type"
    _create(
        table,
        *_columns(sa.Text(), "name"),
        *_columns(REAL, *known),
        *_columns(REAL, *unknown, nullable=True),
        *_columns(sa.Text(), "note"),
        _unique(table, "name"),
        *_filled(table, "name"),
        *_positive(table, *known, *unknown),
    )
    table = "static_source"
    _create(
        table,
        *_columns(sa.Integer(), "aircraft_type_id"),
        *_columns(sa.Text(), "name", "description"),
        _parent(table, "aircraft_type_id", "aircraft_type"),
        _unique(table, "aircraft_type_id", "name"),
        *_filled(table, "name"),
    )
    for table in ("engine", "propeller"):
        _create(
            table,
            *_columns(sa.Text(), "name"),
            _unique(table, "name"),
            *_filled(table, "name"),
        )


def _create_airframes() -> None:
    table = "airframe"
    _create(
        table,
        *_columns(sa.Integer(), "aircraft_type_id"),
        *_columns(sa.Text(), "tag"),
        *_columns(sa.Text(), "registration", nullable=True),
        *_columns(sa.Text(), "note"),
        _parent(table, "aircraft_type_id", "aircraft_type"),
        _unique(table, "tag"),
        *_filled(table, "tag"),
        indexes=("aircraft_type_id",),
    )
    table = "equipment_fit"
    _create(
        table,
        *_columns(sa.Integer(), "airframe_id"),
        *_columns(sa.Date(), "from_date"),
        *_columns(sa.Integer(), "static_source_id", "engine_id", "propeller_id"),
        *_columns(sa.Text(), "pitot", "note"),
        _parent(table, "airframe_id", "airframe"),
        _parent(table, "static_source_id", "static_source"),
        _parent(table, "engine_id", "engine"),
        _parent(table, "propeller_id", "propeller"),
        _unique(table, "airframe_id", "from_date"),
        _unique(table, "id", "airframe_id"),
        indexes=("static_source_id", "engine_id", "propeller_id"),
    )


def _create_handbooks() -> None:
    table = "handbook_curve"
    _create(
        table,
        *_columns(sa.Integer(), "aircraft_type_id", "static_source_id"),
        *_columns(sa.Text(), "flap_setting", "name"),
        *_columns(REAL, "weight_kg"),
        _parent(table, "aircraft_type_id", "aircraft_type"),
        _parent(table, "static_source_id", "static_source"),
        _unique(table, "aircraft_type_id", "static_source_id", "flap_setting", "name"),
        *_filled(table, "flap_setting", "name"),
        *_positive(table, "weight_kg"),
        indexes=("static_source_id",),
    )
    table = "handbook_point"
    _create(
        table,
        *_columns(sa.Integer(), "handbook_curve_id"),
        *_columns(REAL, "ias_kt", "cas_kt"),
        _parent(table, "handbook_curve_id", "handbook_curve"),
        _unique(table, "handbook_curve_id", "ias_kt"),
        *_positive(table, "ias_kt", "cas_kt"),
    )


def _create_flights() -> None:
    table = "source_file"
    _create(
        table,
        *_columns(sa.Text(), "sha256", "name", "kind"),
        *_columns(UTC_TIME, "added_at"),
        _unique(table, "sha256"),
        _check(table, "kind_known", "kind IN ('log', 'leg_sheet', 'points')"),
        _check(table, "sha256_length", "length(sha256) = 64"),
    )
    table = "sortie"
    _create(
        table,
        *_columns(sa.Integer(), "airframe_id", "equipment_fit_id", "source_file_id"),
        *_columns(sa.Date(), "flown_on"),
        *_columns(REAL, "weight_kg"),
        *_columns(sa.Text(), "track_reference", "settings_json", "program_version", "note"),
        *_columns(UTC_TIME, "added_at"),
        _parent(table, "airframe_id", "airframe"),
        _parent(table, "source_file_id", "source_file"),
        sa.ForeignKeyConstraint(
            ["equipment_fit_id", "airframe_id"],
            ["equipment_fit.id", "equipment_fit.airframe_id"],
            name=op.f("fk_sortie_equipment_fit_id_airframe_id"),
            ondelete="RESTRICT",
        ),
        _check(
            table, "track_reference_known", "track_reference IN ('true', 'magnetic', 'unknown')"
        ),
        *_positive(table, "weight_kg"),
        indexes=("airframe_id", "equipment_fit_id", "source_file_id"),
    )
    table = "leg"
    _create(
        table,
        *_columns(sa.Integer(), "sortie_id", "run_number", "leg_number"),
        *_columns(REAL, "start_s", "stop_s", nullable=True),
        *_columns(sa.Integer(), "samples", nullable=True),
        *_columns(REAL, "vic_kt", "pressure_altitude_ft"),
        *_columns(REAL, "oat_degc", "ground_east_kt", "ground_north_kt", nullable=True),
        *_columns(REAL, "track_deg", "residual_kt", "u_kt", nullable=True),
        _parent(table, "sortie_id", "sortie"),
        _unique(table, "sortie_id", "run_number", "leg_number"),
        _check(table, "stop_after_start", "stop_s >= start_s"),
        _check(table, "track_deg_range", "track_deg >= 0 AND track_deg <= 360"),
        _check(table, "oat_degc_range", "oat_degc > -273.15"),
        *_positive(table, "run_number", "leg_number", "samples", "vic_kt", "u_kt"),
    )


def _create_points() -> None:
    table = "calibration_point"
    results = ("kappa", "u_kappa", "dvpc_kt", "u_dvpc_kt", "dhpc_ft", "u_dhpc_ft")
    flap_setting = sa.Column("flap_setting", sa.Text(), server_default="up", nullable=False)
    _create(
        table,
        *_columns(sa.Integer(), "sortie_id", "number"),
        *_columns(sa.Text(), "technique"),
        flap_setting,
        *_columns(REAL, "weight_kg", "vic_kt", "pressure_altitude_ft"),
        *_columns(REAL, "oat_degc", "tas_kt", nullable=True),
        *_columns(REAL, *results),
        *_columns(REAL, "wind_speed_kt", "wind_from_deg", nullable=True),
        *_columns(sa.Integer(), "leg_count", nullable=True),
        *_columns(REAL, "largest_gap_deg", "residual_kt", "duration_s", nullable=True),
        *_columns(REAL, "degrees_of_freedom", nullable=True),
        *_columns(sa.Boolean(), "accepted"),
        *_columns(sa.Text(), "reason"),
        *_columns(UTC_TIME, "decided_at"),
        _parent(table, "sortie_id", "sortie"),
        _unique(table, "sortie_id", "number"),
        _check(table, "rejected_with_reason", "accepted OR length(trim(reason)) > 0"),
        _check(table, "oat_degc_range", "oat_degc > -273.15"),
        _check(table, "wind_from_deg_range", "wind_from_deg >= 0 AND wind_from_deg <= 360"),
        _check(table, "largest_gap_deg_range", "largest_gap_deg >= 0 AND largest_gap_deg <= 360"),
        _check(table, "wind_speed_kt_range", "wind_speed_kt >= 0"),
        _check(table, "residual_kt_range", "residual_kt >= 0"),
        _check(table, "duration_s_range", "duration_s >= 0"),
        *_filled(table, "technique", "flap_setting"),
        *_positive(table, "number", "weight_kg", "vic_kt", "tas_kt", "leg_count"),
        *_positive(table, "u_kappa", "u_dvpc_kt", "u_dhpc_ft", "degrees_of_freedom"),
    )
    table = "uncertainty_term"
    _create(
        table,
        *_columns(sa.Integer(), "calibration_point_id"),
        *_columns(sa.Text(), "name"),
        *_columns(REAL, "u_kappa"),
        *_columns(sa.Boolean(), "shared"),
        *_columns(sa.Text(), "kind", "note"),
        _parent(table, "calibration_point_id", "calibration_point"),
        _unique(table, "calibration_point_id", "name"),
        _check(table, "kind_known", "kind IN ('A', 'B')"),
        *_filled(table, "name"),
    )


def _create(table: str, *parts: Any, indexes: tuple[str, ...] = ()) -> None:
    key = sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}"))
    op.create_table(table, sa.Column("id", sa.Integer(), nullable=False), *parts, key)
    for column in indexes:
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column])


def _columns(kind: Any, *names: str, nullable: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, kind, nullable=nullable) for name in names]


def _parent(table: str, column: str, parent: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}")
    return sa.ForeignKeyConstraint([column], [f"{parent}.id"], name=name, ondelete="RESTRICT")


def _unique(table: str, *columns: str) -> sa.UniqueConstraint:
    return sa.UniqueConstraint(*columns, name=op.f(f"uq_{table}_{'_'.join(columns)}"))


def _check(table: str, name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=op.f(f"ck_{table}_{name}"))


def _positive(table: str, *columns: str) -> list[sa.CheckConstraint]:
    return [_check(table, f"{column}_positive", f"{column} > 0") for column in columns]


def _filled(table: str, *columns: str) -> list[sa.CheckConstraint]:
    return [_check(table, f"{column}_filled", f"length(trim({column})) > 0") for column in columns]
