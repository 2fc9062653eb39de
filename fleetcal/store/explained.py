"""What the databases' own errors mean for the person at the keyboard."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError

from fleetcal.errors import DataError, FleetcalError, ReadOnlyStoreError
from fleetcal.store.engines.kinds import is_of_driver, whose_error
from fleetcal.store.messages import first_line


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
        if not whose_error(error.orig).lacks_right(error.orig):
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
    return whose_error(error.orig).broken_rule(error.orig)


def _refused(error: IntegrityError, name: str) -> DataError:
    """Return the error for a value that breaks a rule."""
    return DataError(
        f"{name}: a value was refused: {broken_rule(error)}",
        "correct the value that this rule is about; nothing was stored",
    )
