"""Tables of what was flown: files, sorties, legs, calibration points and their uncertainty."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKeyConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal import records
from fleetcal.store.base import Base, refers_to
from fleetcal.store.column_rules import rules_of
from fleetcal.store.equipment_models import positive


class SourceFile(Base):
    """A file that was read, known by the SHA-256 of its bytes."""

    __tablename__ = "source_file"
    __table_args__ = (
        CheckConstraint(
            "kind IN ('log', 'leg_sheet', 'points', 'measurement', 'bench')", name="kind_known"
        ),
        CheckConstraint("length(sha256) = 64", name="sha256_length"),
    )

    sha256: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    kind: Mapped[str]
    added_at: Mapped[datetime]


class Sortie(Base):
    """One flight of one airframe, as far as it gave points."""

    __tablename__ = "sortie"
    __table_args__ = (
        ForeignKeyConstraint(
            ["equipment_fit_id", "airframe_id"],
            ["equipment_fit.id", "equipment_fit.airframe_id"],
            ondelete="RESTRICT",
        ),
        CheckConstraint(
            "track_reference IN ('true', 'magnetic', 'unknown')", name="track_reference_known"
        ),
        *positive("weight_kg"),
    )

    airframe_id: Mapped[int] = refers_to("airframe.id", index=True)
    equipment_fit_id: Mapped[int] = mapped_column(index=True)
    source_file_id: Mapped[int] = refers_to("source_file.id", index=True)
    flown_on: Mapped[date]
    weight_kg: Mapped[float]
    track_reference: Mapped[str]
    settings_json: Mapped[str]
    program_version: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]


class Leg(Base):
    """The means over one steady leg; times are seconds from the first sample of the log."""

    __tablename__ = "leg"
    __table_args__ = (
        UniqueConstraint("sortie_id", "run_number", "leg_number"),
        CheckConstraint("stop_s >= start_s", name="stop_after_start"),
        *rules_of(records.Leg),
    )

    sortie_id: Mapped[int] = refers_to("sortie.id")
    run_number: Mapped[int]
    leg_number: Mapped[int]
    start_s: Mapped[float | None]
    stop_s: Mapped[float | None]
    samples: Mapped[int | None]
    vic_kt: Mapped[float]
    pressure_altitude_ft: Mapped[float]
    oat_degc: Mapped[float | None]
    ground_east_kt: Mapped[float | None]
    ground_north_kt: Mapped[float | None]
    track_deg: Mapped[float | None]
    residual_kt: Mapped[float | None]
    u_kt: Mapped[float | None]
    recovery_factor: Mapped[float | None]
    humidity_pct: Mapped[float | None]


class CalibrationPoint(Base):
    """One measured position error at one speed, with its uncertainty and its standing."""

    __tablename__ = "calibration_point"
    __table_args__ = (
        UniqueConstraint("sortie_id", "number"),
        CheckConstraint("accepted OR length(trim(reason)) > 0", name="rejected_with_reason"),
        *rules_of(records.Point),
    )

    sortie_id: Mapped[int] = refers_to("sortie.id")
    number: Mapped[int]
    technique: Mapped[str]
    flap_setting: Mapped[str] = mapped_column(default="up", server_default="up")
    weight_kg: Mapped[float]
    vic_kt: Mapped[float]
    pressure_altitude_ft: Mapped[float]
    oat_degc: Mapped[float | None]
    tas_kt: Mapped[float | None]
    kappa: Mapped[float]
    u_kappa: Mapped[float]
    dvpc_kt: Mapped[float]
    u_dvpc_kt: Mapped[float]
    dhpc_ft: Mapped[float]
    u_dhpc_ft: Mapped[float]
    wind_speed_kt: Mapped[float | None]
    wind_from_deg: Mapped[float | None]
    leg_count: Mapped[int | None]
    largest_gap_deg: Mapped[float | None]
    residual_kt: Mapped[float | None]
    duration_s: Mapped[float | None]
    degrees_of_freedom: Mapped[float | None]
    accepted: Mapped[bool]
    reason: Mapped[str] = mapped_column(default="")
    decided_at: Mapped[datetime]


class UncertaintyTerm(Base):
    """One line of a point's budget: sensitivity times standard uncertainty, signed."""

    __tablename__ = "uncertainty_term"
    __table_args__ = (
        UniqueConstraint("calibration_point_id", "name"),
        *rules_of(records.BudgetTerm),
    )

    calibration_point_id: Mapped[int] = refers_to("calibration_point.id")
    name: Mapped[str]
    u_kappa: Mapped[float]
    owner: Mapped[str]
    kind: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
