"""What is known of the act that works on a store, whichever of its functions does."""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar

#: What is being done, in the words of the command.
ACT: ContextVar[str] = ContextVar("act", default="program")
#: Whether anything was changed since the act began.
CHANGED: ContextVar[bool] = ContextVar("changed", default=False)
#: Is given each note that a user should see.
TELL: ContextVar[Callable[[str], object]] = ContextVar("tell", default=lambda note: None)
