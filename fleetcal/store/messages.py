"""Errors and hints that several databases share."""

from __future__ import annotations

from typing import Final

from fleetcal.errors import BusyStoreError, NotAStoreError, ReadOnlyStoreError, StoreError

BUSY_HINT: Final = "wait until the other program has finished, then try again"
READ_ONLY_HINT: Final = (
    "give yourself the right to write the file and its folder, or work on a copy"
)


class CollidedError(BusyStoreError):
    """A transaction was undone because of another program's; it may succeed when done again."""


def busy(label: str) -> BusyStoreError:
    """Return the error for a store that another program writes for too long."""
    return BusyStoreError(f"{label} is being written by another program", BUSY_HINT)


def collided(label: str) -> CollidedError:
    """Return the error for a transaction that gave way to another program's."""
    return CollidedError(
        f"another program changed {label} at the same moment; nothing was stored",
        "run the command again",
    )


def unreachable(label: str, error: BaseException | None) -> StoreError:
    """Return the error for a server that does not answer, or lets nobody in."""
    return StoreError(
        f"{label} cannot be reached: {first_line(error)}",
        "check host, database name, user and password",
    )


def unwritable(label: str) -> ReadOnlyStoreError:
    """Return the error for a file that cannot be written."""
    return ReadOnlyStoreError(f"{label} cannot be written", READ_ONLY_HINT)


def damaged(label: str, error: BaseException) -> StoreError:
    """Return the error for a database that is broken."""
    return StoreError(f"{label} is damaged: {first_line(error)}", "go back to a saved copy")


def not_a_store(label: str, why: str) -> NotAStoreError:
    """Return the error for something that is no store of this program.

    Args:
        label: How the store is called in messages.
        why: What shows it.
    """
    return NotAStoreError(f"{label} is not a fleetcal store: {why}", "name another file, or none")


def first_line(error: BaseException | None) -> str:
    """Return an error's text as one line."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[0] if lines else type(error).__name__
