"""What an act asks of the same points again is worked out once.

A site judges and fits the points of a type for its groups, for its climbs and for each airframe
that was flown with a port of its own; each place reads and asks for itself. While an act lasts,
the answer to the same points is kept, and with it what was worked out from that: its bands. Nothing
is kept beyond the act, since the store may change.
"""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Final, ParamSpec, TypeVar

Given = ParamSpec("Given")
Answer = TypeVar("Answer")

_FOUND: Final[ContextVar[dict[bytes, Any] | None]] = ContextVar("found", default=None)


@contextmanager
def one_act() -> Iterator[None]:
    """Let all that is asked inside be worked out once; an act within an act is part of it."""
    if _FOUND.get() is not None:
        yield
        return
    before = _FOUND.set({})
    try:
        yield
    finally:
        _FOUND.reset(before)


def once(work: Callable[Given, Answer], *args: Given.args, **more: Given.kwargs) -> Answer:
    """Return what a function makes of values; within an act, what it made of the same before.

    Args:
        work: Gives the same for the same values, which nobody alters.

    Raises:
        Exception: As `work`, which is then asked again the next time.
    """
    found = _FOUND.get()
    if found is None:
        return work(*args, **more)
    named = (work.__module__, work.__qualname__, args, sorted(more.items()))
    key = hashlib.sha256(pickle.dumps(named)).digest()
    if key not in found:
        found[key] = work(*args, **more)
    answer: Answer = found[key]
    return answer
