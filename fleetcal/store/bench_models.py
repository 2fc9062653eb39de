"""Tables of what was found on the bench: instrument corrections and leaks of the static system."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base, refers_to
from fleetcal.store.equipment_models import filled, positive


class BenchCheck(Base):
    """One check of an airspeed indicator (kt) or altimeter (ft) against a standard."""

    __tablename__ = "bench_check"
    __table_args__ = (
        CheckConstraint("kind IN ('airspeed', 'altimeter')", name="kind_known"),
        Index(None, "airframe_id", "kind", "checked_on"),
        *positive("u"),
    )

    airframe_id: Mapped[int] = refers_to("airframe.id")
    source_file_id: Mapped[int] = refers_to("source_file.id", index=True)
    kind: Mapped[str]
    checked_on: Mapped[date]
    u: Mapped[float]
    note: Mapped[str] = mapped_column(default="")
    withdrawn: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]


class BenchRow(Base):
    """One line of a bench check: the correction that is added to a reading."""

    __tablename__ = "bench_row"
    __table_args__ = (UniqueConstraint("bench_check_id", "indicated"),)

    bench_check_id: Mapped[int] = refers_to("bench_check.id")
    indicated: Mapped[float]
    correction: Mapped[float]


class LeakCheck(Base):
    """One leak check of a closed static system: feet lost in one minute."""

    __tablename__ = "leak_check"
    __table_args__ = (
        CheckConstraint("loss_ft >= 0", name="loss_ft_range"),
        CheckConstraint("passed = (loss_ft <= limit_ft)", name="passed_as_measured"),
        Index(None, "airframe_id", "checked_on"),
        *positive("limit_ft"),
        *filled("limit_source"),
    )

    airframe_id: Mapped[int] = refers_to("airframe.id")
    checked_on: Mapped[date]
    loss_ft: Mapped[float]
    limit_ft: Mapped[float]
    limit_source: Mapped[str]
    passed: Mapped[bool]
    note: Mapped[str] = mapped_column(default="")
    withdrawn: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]
