"""What the databases' own errors mean for the person at the keyboard."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError

from fleetcal.errors import (
    BusyStoreError,
    DataError,
    FleetcalError,
    NotAStoreError,
    ReadOnlyStoreError,
    StoreError,
)
from fleetcal.store.collisions import COLLIDED, CollidedError, server_code

_READ_ONLY_HINT = "give yourself the right to write the file and its folder, or work on a copy"
_NO_PLACE_HINT = "give it a place on a disk with room, where you may write; the store is as it was"
_BUSY_HINT = "wait until the other program has finished, then try again"

# PostgreSQL's own five-character codes (its manual, appendix "Error Codes").
_SERVER_BUSY = "55P03"
_SERVER_READ_ONLY = "25006"
_SERVER_NO_RIGHT = "42501"


@contextmanager
def explained(label: str) -> Iterator[None]:
    """Turn database errors inside the block into errors with a message and a hint.

    Args:
        label: How the store is called in messages.

    Raises:
        FleetcalError: In place of any error that a database or its driver reports.
    """
    try:
        yield
    except sqlite3.Error as error:
        _go_on_interrupting(error)
        raise _of_sqlite(error, label) from error
    except StatementError as error:
        _go_on_interrupting(error)
        raise _of_statement(error, label) from error


def _go_on_interrupting(error: BaseException) -> None:
    """Raise the interruption that a driver stumbled over while it let go of its connection."""
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, KeyboardInterrupt):
            raise seen
        seen = seen.__cause__ or seen.__context__


def _of_statement(error: StatementError, label: str) -> FleetcalError:
    """Explain an error that happened while a statement was run."""
    cause = error.orig
    if isinstance(cause, FleetcalError):
        return cause
    if isinstance(error, IntegrityError):
        return _refused(error, label)
    if isinstance(cause, sqlite3.Error):
        return _of_sqlite(cause, label)
    if isinstance(error, DBAPIError):
        return _of_server(cause, label, error.statement or "")
    return DataError(f"{label}: a value was refused: {_first_line(cause)}")


def _of_sqlite(error: sqlite3.Error, label: str) -> FleetcalError:
    """Explain by SQLite's primary result code (its documentation, "Result and Error Codes")."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return BusyStoreError(f"{label} is being written by another program", _BUSY_HINT)
    # A journal that cannot be made beside the file shows as "cannot open".
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return ReadOnlyStoreError(f"{label} cannot be written", _READ_ONLY_HINT)
    if code == sqlite3.SQLITE_NOTADB:
        return not_a_store(label, "it is not a database file")
    if code == sqlite3.SQLITE_CORRUPT:
        return StoreError(f"{label} is damaged: {_first_line(error)}", "go back to a saved copy")
    if code == sqlite3.SQLITE_FULL:
        return StoreError(f"{label}: the disk is full", "make room; nothing was stored")
    if code == sqlite3.SQLITE_IOERR:
        return StoreError(
            f"{label}: the disk refused to read or write ({_first_line(error)})",
            "check for free space, a limit on file sizes and a disconnected network drive; "
            "nothing was stored",
        )
    return StoreError(f"{label}: {_first_line(error)}", "nothing was stored")


_NO_PLACE = {
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


def _of_server(error: BaseException | None, label: str, statement: str) -> FleetcalError:
    """Explain an error of the PostgreSQL driver by its code."""
    code = server_code(error)
    if code in COLLIDED:
        return CollidedError(
            f"another program changed {label} at the same moment; nothing was stored",
            "run the command again",
        )
    if code == _SERVER_BUSY:
        return BusyStoreError(f"{label} is being written by another program", _BUSY_HINT)
    if code == _SERVER_NO_RIGHT:
        return _no_right(label, statement)
    if code == _SERVER_READ_ONLY:
        return ReadOnlyStoreError(
            f"{label} cannot be written: the server is read-only",
            "ask the owner of the database",
        )
    if code == "53100":
        return StoreError(
            f"{label}: the server's disk is full", "ask its keeper to make room; nothing was stored"
        )
    if not code or code.startswith(("08", "28", "3D", "57P")):
        return StoreError(
            f"{label} cannot be reached: {_first_line(error)}",
            "check host, database name, user and password",
        )
    if code.startswith("22"):
        return DataError(f"{label}: a value was refused: {_first_line(error)}")
    return StoreError(
        f"{label}: {_first_line(error)}", "show this to the database's keeper; nothing was stored"
    )


def _no_right(label: str, statement: str) -> FleetcalError:
    """Explain what the server's user has no right to; a lock is wanted by writers only."""
    words = statement.upper().split()
    if words[:1] == ["SELECT"] and words[-2:] != ["FOR", "UPDATE"]:
        return StoreError(
            f"{label}: this user may not even read the store",
            "ask the owner of the database; fleetcal store roles --help tells how rights are given",
        )
    return ReadOnlyStoreError(
        f"{label}: this user may read the store but not write it",
        "ask the owner of the database; fleetcal store roles --help tells how rights are given",
    )


@contextmanager
def upgrading_explained(label: str, revision: str | None, newest: str | None) -> Iterator[None]:
    """Say whose task it is to begin or upgrade a store, if the server's user may not.

    Args:
        label: How the store is called in messages.
        revision, newest: What the store is, None before it is begun, and what this program needs.

    Raises:
        ReadOnlyStoreError: If the user lacks the right.
    """
    try:
        yield
    except DBAPIError as error:
        if server_code(error.orig) != _SERVER_NO_RIGHT:
            raise
        if revision is None:
            raise ReadOnlyStoreError(
                f"there is no store at {label}, and this user may not begin one",
                "ask the owner of the database to begin it: fleetcal fleet load",
            ) from error
        raise ReadOnlyStoreError(
            f"{label} is of revision {revision}, this program needs {newest}, and this user"
            " may not upgrade it",
            "ask the owner of the database to upgrade it: any command run by the owner does it, "
            "such as fleetcal store check; until then use the older program",
        ) from error


def not_a_store(label: str, why: str) -> NotAStoreError:
    """Return the error for something that is no store of this program.

    Args:
        label: How the store is called in messages.
        why: What shows it.
    """
    return NotAStoreError(f"{label} is not a fleetcal store: {why}", "name another file, or none")


@contextmanager
def refusals_named(name: str) -> Iterator[None]:
    """Say what was being stored when a rule of the tables refuses it.

    Args:
        name: What is being stored, such as ``airframe C-07``.

    Raises:
        DataError: If a value breaks a rule.
    """
    try:
        yield
    except IntegrityError as error:
        raise _refused(error, name) from error


def broken_rule(error: IntegrityError) -> str:
    """Return the name of the rule that was broken, or the driver's own first line."""
    name = getattr(getattr(error.orig, "diag", None), "constraint_name", None)
    return str(name) if name else _first_line(error.orig)


def _refused(error: IntegrityError, name: str) -> DataError:
    """Return the error for a value that breaks a rule."""
    return DataError(
        f"{name}: a value was refused: {broken_rule(error)}",
        "correct the value that this rule is about; nothing was stored",
    )


def _first_line(error: BaseException | None) -> str:
    """Return an error's text as one line."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[0] if lines else type(error).__name__
