"""Tables of what was published: handbook speeds to compare with, and the issues of our tables."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base, refers_to
from fleetcal.store.equipment_models import filled, positive


class HandbookSpeed(Base):
    """A speed that a handbook names, as the IAS it prints."""

    __tablename__ = "handbook_speed"
    __table_args__ = (
        UniqueConstraint("handbook_curve_id", "name"),
        *filled("name"),
        *positive("ias_kt"),
    )

    handbook_curve_id: Mapped[int] = refers_to("handbook_curve.id")
    name: Mapped[str]
    ias_kt: Mapped[float]


class PublishedIssue(Base):
    """One issue of a group's table, with all that went in and what came out.

    The names are those of the day: an issue says what it said, whatever the
    store calls things later.
    """

    __tablename__ = "published_issue"
    __table_args__ = (
        UniqueConstraint("aircraft_type_id", "group_name", "flap_setting", "number"),
        CheckConstraint("length(inputs_sha256) = 64", name="inputs_sha256_length"),
        CheckConstraint("length(table_sha256) = 64", name="table_sha256_length"),
        CheckConstraint(
            "(length(withdrawn) > 0) = (withdrawn_on IS NOT NULL)", name="withdrawn_with_day"
        ),
        *filled("group_name", "flap_setting", "why", "program_version"),
        *positive("number"),
    )

    aircraft_type_id: Mapped[int] = refers_to("aircraft_type.id")
    group_name: Mapped[str]
    flap_setting: Mapped[str]
    number: Mapped[int]
    issued_on: Mapped[date]
    why: Mapped[str]
    inputs_json: Mapped[str]
    inputs_sha256: Mapped[str]
    table_json: Mapped[str]
    table_sha256: Mapped[str]
    files_json: Mapped[str]
    model: Mapped[str]
    program_version: Mapped[str]
    withdrawn: Mapped[str] = mapped_column(default="")
    withdrawn_on: Mapped[date | None]
    added_at: Mapped[datetime]
