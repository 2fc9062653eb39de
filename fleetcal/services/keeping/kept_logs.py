"""Keep logs in the store, give them out byte for byte, list and drop them."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import DataError
from fleetcal.store import (
    LogRow,
    Store,
    Touching,
    drop_log,
    find_log,
    keep_log,
    list_logs,
    log_content,
    packed_file,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class LogList:
    """Logs that are kept, and how much room they take."""

    logs: tuple[LogRow, ...]
    file_bytes: int
    packed_bytes: int


@dataclass(frozen=True)
class LogDone:
    """What was done with a log; `already` if it was kept before."""

    file: str
    sha256: str
    file_bytes: int
    already: bool = False


def keep(store: Store, path: Path) -> LogDone:
    """Keep the log that points or climbs came from.

    Raises:
        DataError: If the file cannot be read, or nothing in the store came from its content.
    """
    with packed_file(path) as packed:
        added = store.write(
            lambda session: keep_log(session, packed), Touching(files=(packed.sha256,))
        )
        return LogDone(path.name, packed.sha256, packed.file_bytes, not added)


def kept_logs(store: Store) -> LogList:
    """Return the logs that are kept."""
    with store.reading() as session:
        logs = list_logs(session)
    sizes = [
        sum(size) for size in zip(*((r.file_bytes, r.packed_bytes) for r in logs), strict=True)
    ]
    return LogList(tuple(logs), *(sizes or (0, 0)))


def save(store: Store, named: str, target: Path) -> LogDone:
    """Write a kept log to a file, as it was, byte for byte.

    Args:
        named: File name, or the beginning of the SHA-256.
        target: A new file; it appears only when it is complete and has its hash.

    Raises:
        UnknownNameError: If no such log is kept.
        DataError: If the file is there already or cannot be written.
        StoreError: If what is kept is damaged; then nothing is written.
    """
    if target.exists():
        raise DataError(f"{target} is there already", "name a new file")
    unfinished = target.with_name(target.name + ".part")
    with store.reading() as session:
        log = find_log(session, named)
        try:
            with unfinished.open("wb") as file:
                for part in log_content(session, log):
                    file.write(part)
            os.replace(unfinished, target)
        except OSError as error:
            raise DataError(f"{target}: {error.strerror}", "check the path") from error
        finally:
            unfinished.unlink(missing_ok=True)
    return LogDone(str(target), log.sha256, log.file_bytes)


def drop(store: Store, named: str) -> LogDone:
    """Let a kept log go for good; what came of it stays.

    Args:
        named: File name, or the beginning of the SHA-256.

    Raises:
        UnknownNameError: If no such log is kept.
    """

    def work(session: Session) -> LogDone:
        log = find_log(session, named)
        drop_log(session, log)
        return LogDone(log.file, log.sha256, log.file_bytes)

    return store.write(work)
