"""Whole transactions that are done again when what undid them passes.

A server may refuse one of two transactions that came across each other, restart, or hand its
work to a copy elsewhere. Each time the transaction is undone as a whole, so that it can be done
again where it is one function; the person at the keyboard only waits, and learns why.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from time import sleep as nap
from typing import Final, TypeVar

from sqlalchemy.exc import DBAPIError

from fleetcal.store.acts import TELL
from fleetcal.store.engines.kinds import Passing, is_of_driver, whose_error
from fleetcal.store.messages import CollidedError

Done = TypeVar("Done")

#: Another copy takes over within seconds; what is away for longer needs a person.
LONGEST_S: Final = 60.0
_FIRST_PAUSE_S, _LONGEST_PAUSE_S = 0.05, 4.0
_MOST_COLLISIONS: Final = 30  # where it never ends, something else is wrong
_SILENT_S: Final = 1.0


def again(
    action: Callable[[], Done],
    *,
    label: str,
    known: bool = True,
    making: bool = False,
    longest_s: float = LONGEST_S,
) -> Done:
    """Run a whole transaction, and again while what undid it may pass.

    Args:
        action: Begins and ends the transaction; what it did before it failed has been undone.
        label: How the store is called in messages.
        known: Whether the server has answered before, or the address names several.
        making: Whether it makes tables, which another program may make at the same moment.
        longest_s: After this no further try is begun.

    Returns:
        What the action returned.

    Raises:
        Exception: That of the last try.
    """
    began, pause, silent = time.monotonic(), _FIRST_PAUSE_S, True
    for _ in range(_MOST_COLLISIONS):
        try:
            return action()
        except Exception as error:
            why = passing(error, known=known, making=making)
            waited = time.monotonic() - began
            if why is None or waited + pause > longest_s:
                raise
        if silent and waited >= min(_SILENT_S, longest_s / 4.0):
            silent = False
            TELL.get()(f"{label}: {why.value}; trying again for up to {longest_s:.0f} s")
        nap(pause * random.uniform(0.5, 1.0))  # no two in step
        pause = min(2.0 * pause, _LONGEST_PAUSE_S)
    return action()


def passing(error: BaseException, *, known: bool = True, making: bool = False) -> Passing | None:
    """Return why a transaction was undone, if that may pass."""
    if isinstance(error, CollidedError):
        return Passing.COLLIDED
    cause = error.orig if isinstance(error, DBAPIError) else error
    if cause is error and not is_of_driver(error):
        return None
    kind = whose_error(cause)
    if making and kind.made_meanwhile(cause):
        return Passing.COLLIDED
    return kind.passing(cause, known=known)
