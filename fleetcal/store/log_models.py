"""Tables of the logs that are kept: the file packed, in pieces that fit in memory."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, LargeBinary, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base, refers_to
from fleetcal.store.equipment_models import positive


class KeptLog(Base):
    """A file whose bytes are kept; `file_bytes` is its size before it was packed."""

    __tablename__ = "kept_log"
    __table_args__ = (UniqueConstraint("source_file_id"), *positive("file_bytes"))

    source_file_id: Mapped[int] = refers_to("source_file.id")
    file_bytes: Mapped[int] = mapped_column(BigInteger)
    kept_at: Mapped[datetime]


class LogPiece(Base):
    """A piece of a packed file; the pieces by number, put together, unpack to the file."""

    __tablename__ = "log_piece"
    __table_args__ = (UniqueConstraint("kept_log_id", "number"), *positive("number"))

    kept_log_id: Mapped[int] = refers_to("kept_log.id")
    number: Mapped[int]
    packed: Mapped[bytes] = mapped_column(LargeBinary)
