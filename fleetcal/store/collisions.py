"""Transactions that a server gave up because another one came between, begun once more.

A server that keeps several copies of its data, or runs transactions without waiting for each
other, may refuse one of two and leave it to the program to do it again. That can be done for
it where the whole transaction is one function; anybody else is told to run the command again.

Beginning, upgrading and restoring are such functions and are tried three times (SQLSTATE
40001, 40P01).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

from sqlalchemy.exc import DBAPIError

from fleetcal.errors import BusyStoreError

Done = TypeVar("Done")

# "serialization_failure" (ISO 9075) and "deadlock_detected" (PostgreSQL's manual, appendix
# "Error Codes").
COLLIDED = frozenset({"40001", "40P01"})
# Of two programs that make one table the later is told that it is there, or that its name is.
MADE_MEANWHILE = frozenset({"42P07", "23505"})
_PAUSES_S = (0.05, 0.2, 0.8)


class CollidedError(BusyStoreError):
    """A transaction was undone because of another program's; it may succeed when done again."""


def again_if_collided(
    action: Callable[[], Done],
    also: frozenset[str] = frozenset(),
    *,
    pauses_s: tuple[float, ...] = _PAUSES_S,
) -> Done:
    """Run a whole transaction, and run it again if another program's came between.

    Args:
        action: Begins and ends the transaction; what it did before it failed has been undone.
        also: Further codes of errors after which it is worth trying again.
        pauses_s: Seconds to wait before each further try.

    Returns:
        What the action returned.

    Raises:
        DBAPIError or CollidedError: That of the last try.
    """
    for pause in pauses_s:
        try:
            return action()
        except CollidedError:
            pass
        except DBAPIError as error:
            if server_code(error.orig) not in COLLIDED | also:
                raise
        time.sleep(pause)
    return action()


def server_code(error: BaseException | None) -> str:
    """Return the five-character code of a driver's error, empty if it has none."""
    return str(getattr(error, "sqlstate", None) or "")
