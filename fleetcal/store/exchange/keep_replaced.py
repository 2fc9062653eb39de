"""Remember what was replaced in this store, so that other stores see a correction as one.

Later is not enough to win: a content takes the place of another without a choice only if it
is known to have replaced it. The table `replaced_version` keeps digest and content, and
digests travel in share files.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

from sqlalchemy.orm import Session

from fleetcal.store.exchange.collect_entries import replaced_digests
from fleetcal.store.exchange.entries import Entry, Key, by_name, canonical
from fleetcal.store.models import ReplacedVersion


def keep_replaced(
    session: Session,
    before: Mapping[Key, Entry],
    after: Mapping[Key, Entry],
    why: str = "the fleet was described anew",
) -> None:
    """Keep the contents of entries that were given another one.

    Args:
        session: Of the writing transaction in which they were changed.
    """
    changed = [
        entry
        for entry in by_name(before)
        if entry.name in after and after[entry.name].digest != entry.digest
    ]
    remember_replaced(session, changed, why)


def remember_replaced(session: Session, entries: Iterable[Entry], why: str) -> None:
    """Keep what something else took the place of, unless it is kept already.

    Args:
        session: Of a writing transaction.
    """
    known = replaced_digests(session)
    now = datetime.now(UTC)
    for entry in entries:
        if entry.digest not in known.get(entry.name, ()):
            session.add(
                ReplacedVersion(
                    kind=entry.kind,
                    thing_key=canonical(entry.key),
                    digest=entry.digest,
                    content_json=entry.written,
                    why=why,
                    replaced_at=now,
                )
            )
    session.flush()
