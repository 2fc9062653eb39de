"""Tables of what was replaced on purpose, so that it does not come back, and of who signs."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetcal.store.base import Base
from fleetcal.store.equipment_models import filled


class ReplacedVersion(Base):
    """A content that an entry had and was given another for.

    `content_json` is what was replaced, and empty where only its digest is
    known because the replacing was done in another store. `by_key` is the public key of
    the share that brought that, empty where nobody signed it, and NULL where it was done or
    settled in this store.
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
    by_key: Mapped[str | None]


class KnownKey(Base):
    """A public key that signed a share taken in, or belongs to an owner; with a person's name."""

    __tablename__ = "known_key"
    __table_args__ = (CheckConstraint("length(public_key) = 64", name="key_length"),)

    public_key: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str] = mapped_column(default="")
    first_seen: Mapped[datetime]
