"""Tables of what was done to the store: who or what, when, and which rows."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base, refers_to
from fleetcal.store.equipment_models import filled


class StoreChange(Base):
    """One writing transaction; `undone` says when and by whom it was taken back."""

    __tablename__ = "store_change"
    __table_args__ = filled("act")

    made_at: Mapped[datetime]
    made_by: Mapped[str]
    act: Mapped[str]
    undone: Mapped[str] = mapped_column(default="")


class ChangedRow(Base):
    """A row that was added, changed or removed; parts of an added row are not listed apart.

    `values_json` holds, of a changed row, each value before and after, of a
    removed one all values, of an added one nothing: the row itself is there. Of an
    added power it tells the point.
    """

    __tablename__ = "changed_row"
    __table_args__ = (
        CheckConstraint("act IN ('added', 'changed', 'removed')", name="act_known"),
        Index(None, "table_name", "row_id"),
        Index(None, "airframe"),
    )

    store_change_id: Mapped[int] = refers_to("store_change.id", index=True)
    act: Mapped[str]
    table_name: Mapped[str]
    row_id: Mapped[int]
    airframe: Mapped[str] = mapped_column(default="")
    values_json: Mapped[str] = mapped_column(default="")
