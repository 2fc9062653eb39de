"""What the databases' own errors mean for the person at the keyboard."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError

from fleetcal.errors import DataError, FleetcalError, ReadOnlyStoreError
from fleetcal.store.engines import is_of_driver, whose_error
from fleetcal.store.engines.postgresql import lacks_right
from fleetcal.store.messages import first_line

_NO_PLACE_HINT = "give it a place on a disk with room, where you may write; the store is as it was"


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
    except StatementError as error:
        _go_on_interrupting(error)
        raise _of_statement(error, label) from error
    except Exception as error:
        if not is_of_driver(error):
            raise
        _go_on_interrupting(error)
        raise whose_error(error).explain(error, label, "") from error


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
    if isinstance(error, DBAPIError):
        return whose_error(cause).explain(cause or error, label, error.statement or "")
    return DataError(f"{label}: a value was refused: {first_line(cause)}")


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
        if not lacks_right(error.orig):
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
    return str(name) if name else first_line(error.orig)


def _refused(error: IntegrityError, name: str) -> DataError:
    """Return the error for a value that breaks a rule."""
    return DataError(
        f"{name}: a value was refused: {broken_rule(error)}",
        "correct the value that this rule is about; nothing was stored",
    )
