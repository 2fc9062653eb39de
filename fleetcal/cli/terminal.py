"""Whether somebody sits at the other end."""

from __future__ import annotations

from typing import TextIO


def is_terminal(stream: TextIO | None) -> bool:
    """Tell whether a stream leads to a terminal; a process may have no such stream at all."""
    return stream is not None and stream.isatty()
