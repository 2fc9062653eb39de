"""Tells which airframes are not in the pool of a result."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any


def without_words(found: Any) -> str:
    """Return "without K-09, which stands outside by ...", or nothing if all are in."""
    told = [
        one if isinstance(one, str) else f"{one.airframe}, {one.reason}" for one in found.without
    ]
    return f"without {'; '.join(told)}" if told else ""


def left_out_head(found: Any) -> Iterator[str]:
    """Tell it in a line of its own."""
    words = without_words(found)
    if words:
        yield words
