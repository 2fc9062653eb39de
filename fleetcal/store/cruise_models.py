"""Tables of level flight at a known power: what runs were flown at, and what handbooks say."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.records import Power
from fleetcal.store.base import Base, refers_to
from fleetcal.store.column_rules import rules_of
from fleetcal.store.equipment_models import filled, positive


class CruisePower(Base):
    """The power at which the run of one calibration point was flown, in % of rated power.

    `doubt` says why it is not to be used, and is empty where nothing is against it.
    """

    __tablename__ = "cruise_power"
    __table_args__ = (
        UniqueConstraint("calibration_point_id"),
        *rules_of(Power),
    )

    calibration_point_id: Mapped[int] = refers_to("calibration_point.id")
    power_pct: Mapped[float]
    u_power_pct: Mapped[float]
    basis: Mapped[str]
    origin: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    noted_at: Mapped[datetime]
    doubt: Mapped[str] = mapped_column(default="")


class HandbookCruise(Base):
    """One line of a handbook's cruise table: true airspeed in standard air."""

    __tablename__ = "handbook_cruise"
    __table_args__ = (
        UniqueConstraint(
            "aircraft_type_id",
            "engine_id",
            "propeller_id",
            "name",
            "power_pct",
            "pressure_altitude_ft",
            name="uq_handbook_cruise_line",  # by the rule it would be too long for a server
        ),
        CheckConstraint("power_pct > 0 AND power_pct <= 130", name="power_pct_range"),
        *filled("name"),
        *positive("weight_kg", "tas_kt"),
    )

    aircraft_type_id: Mapped[int] = refers_to("aircraft_type.id")
    engine_id: Mapped[int] = refers_to("engine.id", index=True)
    propeller_id: Mapped[int] = refers_to("propeller.id", index=True)
    name: Mapped[str]
    weight_kg: Mapped[float]
    power_pct: Mapped[float]
    pressure_altitude_ft: Mapped[float]
    tas_kt: Mapped[float]
