"""Tables of what was done to the store: who or what, when, and which rows."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base, refers_to
from fleetcal.store.equipment_models import filled


class StoreChange(Base):
    """One writing transaction.

    `name_from` says where its person's name is from: the login of the server, the user of the
    machine, or only claimed, as in older entries. `undone` says of changes that older programs
    took back when and by whom; since then a later change says it.
    """

    __tablename__ = "store_change"
    __table_args__ = (
        *filled("act"),
        CheckConstraint("name_from IN ('server', 'machine', 'claimed')", name="name_from_known"),
    )

    made_at: Mapped[datetime]
    made_by: Mapped[str]
    act: Mapped[str]
    undone: Mapped[str] = mapped_column(default="")
    name_from: Mapped[str] = mapped_column(server_default="claimed")


class ChangedRow(Base):
    """A row that was added, changed or removed; parts of an added row are not listed apart.

    `values_json` holds, of a changed row, each value before and after, of a
    removed one all values, of an added one nothing: the row itself is there. Of an
    added power it tells the point.

    A row of `store_change` is about the history itself: changed, where the change of that
    number was taken back; removed, where a backup replaced the history up to it.
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


class RowState(Base):
    """The digest of a row, with its parts, as a change or an upgrade left it; empty when gone.

    See `fleetcal.store.row_digests`.
    """

    __tablename__ = "row_state"
    __table_args__ = (Index(None, "table_name", "row_id"),)

    store_change_id: Mapped[int | None] = mapped_column(
        ForeignKey("store_change.id", ondelete="RESTRICT"), index=True
    )
    history_link_id: Mapped[int | None] = mapped_column(
        ForeignKey("history_link.id", ondelete="RESTRICT"), index=True
    )
    table_name: Mapped[str]
    row_id: Mapped[int]
    digest: Mapped[str]


class HistoryLink(Base):
    """One link of the chain of changes; numbered from 1 without gaps, in the order kept.

    Of an upgrade, which is no change, `note` says to which revision. See
    `fleetcal.store.history_chain`.
    """

    __tablename__ = "history_link"
    __table_args__ = (UniqueConstraint("store_change_id"),)

    store_change_id: Mapped[int | None] = mapped_column(
        ForeignKey("store_change.id", ondelete="RESTRICT")
    )
    note: Mapped[str] = mapped_column(default="")
    content: Mapped[str]
    hash: Mapped[str]
