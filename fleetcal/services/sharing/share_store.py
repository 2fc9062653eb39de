"""Write a store, or a part of it, into one file for another store."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from fleetcal.atomic_write import write_atomically
from fleetcal.errors import UnknownNameError
from fleetcal.services.sharing.leave_out_registrations import (
    discretion_of,
    without_registrations,
)
from fleetcal.services.sharing.share_format import read_share, share_text
from fleetcal.services.sharing.share_logs import SharedLog, logs_to_share
from fleetcal.services.sharing.share_signature import claims_for
from fleetcal.services.sharing.signing_key import signer_by_need
from fleetcal.store import Store, find_airframe
from fleetcal.store.exchange.choose_entries import chosen_entries
from fleetcal.store.exchange.collect_entries import collect_entries
from fleetcal.store.exchange.entries import KINDS, shown
from fleetcal.store.owner_rows import load_owners


@dataclass(frozen=True)
class KindCount:
    """How many entries a kind has."""

    kind: str
    things: int


@dataclass(frozen=True, kw_only=True)
class Shared:
    """What went into a share file.

    Attributes:
        signed_by: Name, if one is given, and key in short.
    """

    file: str
    registrations: bool
    logs: int
    counts: tuple[KindCount, ...]
    notes: tuple[str, ...]
    signed_by: str = ""


@dataclass(frozen=True, kw_only=True)
class ShareChoice:
    """What goes into a share file; None asks for all.

    Attributes:
        airframes: Tags.
        logs: Whether the logs that are kept go along.
    """

    airframes: Sequence[str] | None = None
    types: Sequence[str] | None = None
    issues: bool = True
    registrations: bool = False
    logs: bool = False


def share(store: Store, path: Path, choice: ShareChoice) -> Shared:
    """Write a share file.

    Raises:
        UnknownNameError: If an airframe or type is named that is not in the store.
        DataError: If the file cannot be written.
    """
    with store.reading() as session:
        for tag in choice.airframes or ():
            find_airframe(session, tag)
        entries = collect_entries(session, choice.airframes, issues=choice.issues)
        owners = load_owners(session)
    known = [name for kind, (name, *_) in entries if kind == "type"]
    for name in choice.types or ():
        if name not in known:
            raise UnknownNameError(
                f"there is no type {name!r} in the store", f"known: {', '.join(sorted(known))}"
            )
    chosen = chosen_entries(
        entries,
        choice.airframes,
        choice.types,
        issues=choice.issues,
        registrations=choice.registrations,
    )
    notes = []
    discretion = None if choice.registrations else discretion_of(entries)
    if discretion is not None:
        chosen, left_out = without_registrations(chosen, discretion)
        notes = [f"{shown(t)} names a registration and was left out" for t in left_out]
    logs: list[SharedLog] = []
    if choice.logs:
        logs, log_notes = logs_to_share(store, chosen, discretion)
        notes += log_notes
    if logs:
        notes.append("a log shows where somebody flew, and may name people")
    signer = signer_by_need()
    text = share_text(
        chosen,
        registrations=choice.registrations,
        logs=logs,
        signer=signer,
        claims=claims_for(chosen, owners, signer.person),
    )
    # Nobody is given a file that would be refused.
    read_share(text.encode("utf-8"), path.name, datetime.now(UTC))
    write_atomically(path, text)
    counts = Counter(entry.kind for entry in chosen.values())
    counted = tuple(KindCount(kind, counts[kind]) for kind in KINDS if counts[kind])
    return Shared(
        file=str(path),
        registrations=choice.registrations,
        logs=len(logs),
        counts=counted,
        notes=tuple(notes),
        signed_by=signer.person.shown,
    )
