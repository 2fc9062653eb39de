"""The common ground of all tables: column types, names of constraints, foreign keys."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy import Date, ForeignKey, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, MappedColumn, mapped_column

from fleetcal.store.column_types import IntegerColumn, RealNumber, UtcDateTime

# Constraints without a name vanish without a word when a table is rebuilt.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Base of every table of the store."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        date: Date(),
        datetime: UtcDateTime(),
        float: RealNumber(),
        int: IntegerColumn(),
        str: Text(),
    }

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-1)


def refers_to(column: str, *, index: bool = False) -> MappedColumn[int]:
    """Return a column that points at a row which may not be deleted meanwhile.

    Args:
        column: ``table.column`` that is pointed at.
        index: Whether the column gets an index of its own.
    """
    return mapped_column(ForeignKey(column, ondelete="RESTRICT"), index=index)
