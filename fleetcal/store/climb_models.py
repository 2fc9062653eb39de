"""Table of measured climbs and glides."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.records import Climb
from fleetcal.store.base import Base, refers_to
from fleetcal.store.column_rules import rules_of


class ClimbMeasurement(Base):
    """One steady climb or glide, flown both ways or one; rates are positive upwards."""

    __tablename__ = "climb_measurement"
    __table_args__ = (
        UniqueConstraint("sortie_id", "number"),
        CheckConstraint("(kind = 'climb') = (rate_ftmin > 0)", name="rate_of_kind"),
        CheckConstraint("accepted OR length(trim(reason)) > 0", name="rejected_with_reason"),
        *rules_of(Climb),
    )

    sortie_id: Mapped[int] = refers_to("sortie.id")
    number: Mapped[int]
    kind: Mapped[str]
    power_state: Mapped[str]
    flap_setting: Mapped[str]
    weight_kg: Mapped[float]
    vic_kt: Mapped[float]
    pressure_altitude_ft: Mapped[float]
    oat_degc: Mapped[float]
    indicated_rate_ftmin: Mapped[float]
    rate_ftmin: Mapped[float]
    u_own_ftmin: Mapped[float]
    u_shared_ftmin: Mapped[float]
    thrust_rate_ftmin: Mapped[float]
    ways: Mapped[int]
    accepted: Mapped[bool]
    reason: Mapped[str] = mapped_column(default="")
    decided_at: Mapped[datetime]
    added_at: Mapped[datetime]
