"""Copies of a store that are consistent while others write, and the way back.

Of a file it is SQLite's own copy, of a server all rows of one repeatable-read transaction
in a new file. Restoring copies rows in one writing transaction, so the engine can be
changed that way too. The history comes along as it is, chain and all. Where the store had one
of its own, it is replaced, and one entry more says so, with the newest hash of the former one.
"""

from __future__ import annotations

import json
import os
import tempfile
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, StoreError
from fleetcal.store.engines.kinds import copy_explained, keep_copy, remove_unfinished
from fleetcal.store.explained import explained
from fleetcal.store.history_chain import newest_link
from fleetcal.store.history_guard import lifted
from fleetcal.store.history_recording import recorder_of
from fleetcal.store.models import Base, StoreChange
from fleetcal.store.row_numbers import number_on
from fleetcal.store.store import Store, open_store

_AT_ONCE = 2000
_AT_ONCE_OF = {"log_piece": 8}  # so many rows of it take megabytes


def back_up(where: str | None, target: Path, *, patience_s: float = 30.0) -> None:
    """Copy a store into a new file, in the state of one moment.

    Args:
        where: The store, as `open_store` takes it.
        target: Becomes an SQLite store; appears only when it is complete.
        patience_s: Seconds to wait for another program.

    Raises:
        DataError: If the target is there already, or cannot be written.
        StoreError: If the store cannot be read.
    """
    _refuse_target(target)
    with open_store(where, create=False, patience_s=patience_s) as store:
        back_up_open(store, target, patience_s=patience_s)


def _refuse_target(target: Path) -> None:
    if target.exists():
        raise DataError(f"{target} is there already", "name a new file; no backup is overwritten")
    if (journal := target.with_name(f"{target.name}-journal")).exists():
        # SQLite would take it for the new file's own, and undo in it what was done to another.
        raise DataError(f"{journal} of another store is there", "name a new file")
    if not target.absolute().parent.is_dir():
        raise DataError(f"{target}: its folder does not exist", "make the folder first")


def back_up_open(store: Store, target: Path, *, patience_s: float = 30.0) -> None:
    """Copy an open store into a new file, in the state of one moment; as `back_up`."""
    _refuse_target(target)
    if store.path is not None:
        with explained(store.label):
            keep_copy(store.path, target, patience_s)
        return
    unfinished = target.with_name(target.name + ".part")
    try:
        with copy_explained(target):
            remove_unfinished(unfinished)
            with open_store(unfinished) as copy:
                copy.write(partial(_copy_rows, store, copy.label))
            os.replace(unfinished, target)
    finally:
        with suppress(OSError):
            remove_unfinished(unfinished)


def bring_back(where: str | None, backup: Path, *, replace: bool = False) -> dict[str, int]:
    """Put the rows of a backup into a store, all or none.

    Args:
        where: The store; made if it is not there.
        backup: A store file; it is left as it is, also if it is of an older revision.
        replace: Whether what the store holds may go.

    Returns:
        Rows by table.

    Raises:
        DataError: If there is no backup, or the store holds something and may not be replaced.
        NotAStoreError: If the backup is something else.
    """
    if not backup.is_file():
        raise DataError(f"{backup}: there is no such file", "check the path")
    with tempfile.TemporaryDirectory(prefix="fleetcal-") as folder:
        copied = Path(folder) / backup.name
        with explained(str(backup)):
            keep_copy(backup, copied, 30.0)
        with open_store(copied, create=False) as source, open_store(where) as target:
            return target.write(partial(_replace_rows, source, target.label, replace=replace))


def _replace_rows(source: Store, label: str, writing: Session, *, replace: bool) -> dict[str, int]:
    with lifted(writing.connection()):
        former = newest_link(writing.connection())
        last = writing.scalar(select(func.max(StoreChange.id)))
        counts = _copy_rows(source, label, writing, replace=replace)
        recorder = recorder_of(writing)
        if former is not None and recorder is not None:
            words = json.dumps({"links": former[0], "hash": former[1]})
            recorder.note_history("removed", last or 0, words)
        return counts


def _copy_rows(
    source: Store, label: str, writing: Session, *, replace: bool = False
) -> dict[str, int]:
    tables = Base.metadata.sorted_tables
    with source.reading() as reading:
        here, there = reading.connection(), writing.connection()
        for table in reversed(tables):
            if replace:
                there.execute(delete(table))
            elif there.execute(select(table).limit(1)).first() is not None:
                raise StoreError(f"{label} is not empty", "use --replace, or name a new store")
        counts = {table.name: _copy_table(table, here, there) for table in tables}
        for table in tables:
            number_on(table, there)
    return counts


def _copy_table(table: Any, here: Connection, there: Connection) -> int:
    at_once = _AT_ONCE_OF.get(table.name, _AT_ONCE)
    rows = here.execution_options(yield_per=at_once).execute(select(table).order_by(table.c.id))
    count = 0
    for part in rows.mappings().partitions(at_once):
        there.execute(insert(table), [dict(row) for row in part])
        count += len(part)
    return count
