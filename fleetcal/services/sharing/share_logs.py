"""Kept logs in a share file: packed, as text, each with the hash that it must unpack to.

Without registrations, a log that names one, or that was recorded packed and cannot be
looked into, is not shared.
"""

from __future__ import annotations

import base64
import binascii
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fleetcal.errors import StoreError
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.services.sharing.shape import (
    listing,
    positive_integer,
    record,
    sha256_text,
    text,
    wrong,
)
from fleetcal.store import LogRow, PackedLog, Store, keep_log, list_logs, log_content
from fleetcal.store.exchange.entries import Entries
from fleetcal.store.log_packing import unpacked
from fleetcal.store.log_rows import log_pieces

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

_PACKED: Final = (b"\x1f\x8b", b"PK\x03\x04")
LOGS_SHAPE: Final = listing(
    record({"sha256": sha256_text, "file_bytes": positive_integer, "packed": text})
)


@dataclass(frozen=True)
class SharedLog:
    """A log on its way to another store; `packed` is how it is kept."""

    sha256: str
    file_bytes: int
    packed: bytes

    def document(self) -> dict[str, Any]:
        """Return what stands in the file."""
        packed = base64.b64encode(self.packed).decode("ascii")
        return {"sha256": self.sha256, "file_bytes": self.file_bytes, "packed": packed}


def logs_to_share(
    store: Store, entries: Entries, discretion: Discretion | None
) -> tuple[list[SharedLog], list[str]]:
    """Return the kept logs of the files among some entries.

    Args:
        discretion: What must not be told; None if all may be.

    Returns:
        logs: By hash.
        notes: Why a log was left out.

    Raises:
        StoreError: If a kept log is damaged.
    """
    found, notes = [], []
    with store.reading() as session:
        for log in sorted(list_logs(session), key=lambda row: row.sha256):
            if ("file", (log.sha256,)) not in entries:
                continue
            content = b"".join(log_content(session, log))
            why = _telling(content, discretion)
            if why:
                name = entries["file", (log.sha256,)].state["name"]
                notes.append(f"the log {name} {why} and was left out")
            else:
                packed = b"".join(log_pieces(session, log.log_id))
                found.append(SharedLog(log.sha256, log.file_bytes, packed))
    return found, notes


def _telling(content: bytes, discretion: Discretion | None) -> str:
    """Say why a log must not be shared, if it must not: it leaves as it is or not at all."""
    if discretion is None:
        return ""
    if content.startswith(_PACKED):
        return "is packed, so that registrations would not be seen,"
    written = content.decode("latin-1")
    return "names a registration" if discretion.words(written) != written else ""


def logs_of(rows: Sequence[Mapping[str, Any]], entries: Entries, name: str) -> list[SharedLog]:
    """Return the logs of a share file, each unpacked once to see that it is whole.

    Args:
        rows: As `LOGS_SHAPE` has them.
        entries: Of the same file.
        name: Of the file, for messages.

    Raises:
        MalformedFileError: If one is damaged, belongs to no file, or is there twice.
    """
    found: list[SharedLog] = []
    for row in rows:
        where = f"{name}: log {row['sha256'][:12]}"
        if found and found[-1].sha256 >= row["sha256"]:
            wrong(where, "is out of order, or there twice")
        file = entries.get(("file", (row["sha256"],)))
        if file is None or file.content["kind"] not in ("log", "leg_sheet"):
            wrong(where, "belongs to no recorded flight of the file")
        try:
            packed = base64.b64decode(row["packed"], validate=True)
            for _ in unpacked([packed], row["sha256"], row["file_bytes"], row["sha256"][:12]):
                pass
        except (binascii.Error, ValueError):
            wrong(where, "is not written as it should be")
        except StoreError:
            wrong(where, "does not unpack to the file that it is named after")
        found.append(SharedLog(row["sha256"], row["file_bytes"], packed))
    return found


def logs_to_keep(
    known: Iterable[LogRow], logs: Sequence[SharedLog], entries: Entries
) -> list[SharedLog]:
    """Return the logs that a store does not keep yet, of files that it has or is about to have.

    Args:
        entries: Result of the merge.
    """
    kept = {log.sha256 for log in known}
    return [log for log in logs if log.sha256 not in kept and ("file", (log.sha256,)) in entries]


def keep_shared(session: Session, log: SharedLog) -> None:
    """Keep a log of a share file; parameters as in `fleetcal.store.keep_log`."""
    content = io.BytesIO(log.packed)
    keep_log(session, PackedLog(log.sha256[:12], log.sha256, log.file_bytes, content))
