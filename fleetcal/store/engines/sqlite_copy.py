"""Copies of a store that is a file, made while others write; whole, or not there."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Final

from fleetcal.errors import DataError
from fleetcal.store.engines.file_reading import open_file_connection
from fleetcal.store.engines.sqlite_seal import refuse_mixed_file, seal_file

_NO_PLACE_HINT: Final = (
    "give it a place on a disk with room, where you may write; the store is as it was"
)
_NO_PLACE: Final = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_IOERR: "the disk refused to write",
    sqlite3.SQLITE_CANTOPEN: "no file can be made there",
    sqlite3.SQLITE_READONLY: "it is read-only",
    sqlite3.SQLITE_PERM: "permission is denied",
}


@contextmanager
def copy_explained(copy: Path) -> Iterator[None]:
    """Say of a copy that cannot be written that it is the copy, not what is copied.

    Raises:
        DataError: In place of an error of writing; what is wrong with the source goes through.
    """
    try:
        yield
    except OSError as error:
        why = error.strerror or str(error)
        raise DataError(f"cannot write {copy}: {why}", _NO_PLACE_HINT) from error
    except sqlite3.Error as error:
        reason = _NO_PLACE.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
        if reason is None:
            raise
        raise DataError(f"cannot write {copy}: {reason}", _NO_PLACE_HINT) from error


def keep_copy(path: Path, copy: Path, patience_s: float) -> None:
    """Copy the store whole; the copy appears under its name only when it is complete.

    Opening the file by any other way than SQLite's own would, on closing it, drop
    the locks that this process holds on it.

    Args:
        path: File of an SQLite store.
        copy: Takes its place in one step.
        patience_s: Seconds to wait for other programs.

    Raises:
        DataError: If the copy cannot be written.
    """
    unfinished = copy.with_name(copy.name + ".part")
    with closing(open_file_connection(path, patience_s=patience_s, mode="ro")) as source:
        refuse_mixed_file(source, str(path))
        try:
            with copy_explained(copy):
                remove_unfinished(unfinished)
                with closing(sqlite3.connect(unfinished, isolation_level=None)) as target:
                    source.backup(target)
                    target.execute("BEGIN IMMEDIATE")
                    seal_file(target)
                    target.execute("COMMIT")
                os.replace(unfinished, copy)
        except BaseException:
            with suppress(OSError):
                remove_unfinished(unfinished)
            raise


def remove_unfinished(file: Path) -> None:
    """Remove what is left of a copy that was not completed, and its journal."""
    file.unlink(missing_ok=True)
    file.with_name(file.name + "-journal").unlink(missing_ok=True)
