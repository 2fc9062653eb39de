"""Tables of what flies: types, static sources, engines, propellers, airframes and their fits."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from fleetcal.store.base import Base, refers_to


def positive(*columns: str) -> tuple[CheckConstraint, ...]:
    """Return one named CHECK a column: the value is above zero (or missing)."""
    return tuple(CheckConstraint(f"{name} > 0", name=f"{name}_positive") for name in columns)


def filled(*columns: str) -> tuple[CheckConstraint, ...]:
    """Return one named CHECK a column: the text is not blank (or missing)."""
    return tuple(
        CheckConstraint(f"length(trim({name})) > 0", name=f"{name}_filled") for name in columns
    )


class AircraftType(Base):
    """A type of aircraft, with the weight and speed its curves are scaled by.

    `coordinator` is the public key of who speaks for the type, empty where nobody is named;
    `coordinator_decides` whether that goes for its airframes too.
    """

    __tablename__ = "aircraft_type"
    __table_args__ = (
        *filled("name"),
        *positive(
            "wing_area_m2",
            "reference_weight_kg",
            "scaling_speed_kt",
            "stall_speed_clean_kt",
            "stall_speed_landing_kt",
            "flap_limit_kt",
            "manoeuvring_speed_kt",
            "never_exceed_kt",
        ),
        CheckConstraint("coordinator = '' OR length(coordinator) = 64", name="coordinator_known"),
    )

    name: Mapped[str] = mapped_column(unique=True)
    wing_area_m2: Mapped[float | None]
    reference_weight_kg: Mapped[float]
    scaling_speed_kt: Mapped[float]
    stall_speed_clean_kt: Mapped[float | None]
    stall_speed_landing_kt: Mapped[float | None]
    flap_limit_kt: Mapped[float | None]
    manoeuvring_speed_kt: Mapped[float | None]
    never_exceed_kt: Mapped[float | None]
    note: Mapped[str] = mapped_column(default="")
    speeds_are: Mapped[str] = mapped_column(default="")
    coordinator: Mapped[str] = mapped_column(default="")
    coordinator_decides: Mapped[bool] = mapped_column(default=False)


class StaticSource(Base):
    """A way of taking static pressure on one type."""

    __tablename__ = "static_source"
    __table_args__ = (UniqueConstraint("aircraft_type_id", "name"), *filled("name"))

    aircraft_type_id: Mapped[int] = refers_to("aircraft_type.id")
    name: Mapped[str]
    description: Mapped[str] = mapped_column(default="")


class AircraftEngine(Base):
    """An engine, by the name the fleet gives it."""

    __tablename__ = "engine"
    __table_args__ = filled("name")

    name: Mapped[str] = mapped_column(unique=True)


class Propeller(Base):
    """A propeller, by the name the fleet gives it; `pitch` is empty where nobody said."""

    __tablename__ = "propeller"
    __table_args__ = (
        CheckConstraint("pitch IN ('', 'fixed', 'constant speed')", name="pitch_known"),
        *filled("name"),
    )

    name: Mapped[str] = mapped_column(unique=True)
    pitch: Mapped[str] = mapped_column(default="")


class Airframe(Base):
    """One aircraft, known by its tag."""

    __tablename__ = "airframe"
    __table_args__ = (
        *filled("tag"),
        CheckConstraint("temperature_shows IN ('ambient', 'probe')", name="temperature_known"),
        CheckConstraint(
            "recovery_factor >= 0 AND recovery_factor <= 1", name="recovery_factor_range"
        ),
        CheckConstraint(
            "recovery_factor IS NULL OR temperature_shows = 'probe'",
            name="recovery_factor_of_probe",
        ),
        CheckConstraint("owner IN ('', 'nobody') OR length(owner) = 64", name="owner_known"),
    )

    aircraft_type_id: Mapped[int] = refers_to("aircraft_type.id", index=True)
    tag: Mapped[str] = mapped_column(unique=True)
    registration: Mapped[str | None]
    note: Mapped[str] = mapped_column(default="")
    temperature_shows: Mapped[str | None]
    recovery_factor: Mapped[float | None]
    owner: Mapped[str] = mapped_column(default="")

    aircraft_type: Mapped[AircraftType] = relationship()
    fits: Mapped[list[EquipmentFit]] = relationship(
        back_populates="airframe", order_by="EquipmentFit.from_date"
    )


class EquipmentFit(Base):
    """What one airframe carries from a date on, until its next fit."""

    __tablename__ = "equipment_fit"
    __table_args__ = (
        UniqueConstraint("airframe_id", "from_date"),
        # Lets a sortie refer to fit and airframe at once, so the two cannot disagree.
        UniqueConstraint("id", "airframe_id"),
    )

    airframe_id: Mapped[int] = refers_to("airframe.id")
    from_date: Mapped[date]
    static_source_id: Mapped[int] = refers_to("static_source.id", index=True)
    engine_id: Mapped[int] = refers_to("engine.id", index=True)
    propeller_id: Mapped[int] = refers_to("propeller.id", index=True)
    pitot: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")

    airframe: Mapped[Airframe] = relationship(back_populates="fits")
    static_source: Mapped[StaticSource] = relationship()
    engine: Mapped[AircraftEngine] = relationship()
    propeller: Mapped[Propeller] = relationship()


class HandbookCurve(Base):
    """A published table of IAS against CAS for one static source and flap setting."""

    __tablename__ = "handbook_curve"
    __table_args__ = (
        UniqueConstraint("aircraft_type_id", "static_source_id", "flap_setting", "name"),
        *filled("flap_setting", "name"),
        *positive("weight_kg"),
    )

    aircraft_type_id: Mapped[int] = refers_to("aircraft_type.id")
    static_source_id: Mapped[int] = refers_to("static_source.id", index=True)
    flap_setting: Mapped[str]
    name: Mapped[str]
    weight_kg: Mapped[float]


class HandbookPoint(Base):
    """One line of a handbook curve."""

    __tablename__ = "handbook_point"
    __table_args__ = (
        UniqueConstraint("handbook_curve_id", "ias_kt"),
        *positive("ias_kt", "cas_kt"),
    )

    handbook_curve_id: Mapped[int] = refers_to("handbook_curve.id")
    ias_kt: Mapped[float]
    cas_kt: Mapped[float]
