"""Table of what was replaced on purpose, so that it does not come back from another store."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base
from fleetcal.store.equipment_models import filled


class ReplacedVersion(Base):
    """A content that an entry had and was given another for.

    `content_json` is what was replaced, and empty where only its digest is
    known because the replacing was done in another store.
    """

    __tablename__ = "replaced_version"
    __table_args__ = (
        UniqueConstraint("kind", "thing_key", "digest"),
        CheckConstraint("length(digest) = 64", name="digest_length"),
        *filled("kind", "thing_key"),
    )

    kind: Mapped[str]
    thing_key: Mapped[str]
    digest: Mapped[str]
    content_json: Mapped[str] = mapped_column(default="")
    why: Mapped[str] = mapped_column(default="")
    replaced_at: Mapped[datetime]
