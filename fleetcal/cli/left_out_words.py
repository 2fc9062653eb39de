"""Tells which airframes are not in the pool of a result."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from fleetcal.services.curves.pool_members import AirframeLeftOut


class Pooled(Protocol):
    """A result that names the airframes that are not in its pool."""

    @property
    def without(self) -> Sequence[AirframeLeftOut | str]:
        """Airframes with the reason, or the words for them."""


def without_words(found: Pooled) -> str:
    """Return "without K-09, which stands outside by ...", or nothing if all are in."""
    tags = [
        one if isinstance(one, str) else f"{one.airframe}, {one.reason}" for one in found.without
    ]
    return f"without {'; '.join(tags)}" if tags else ""


def left_out_head(found: Pooled) -> Iterator[str]:
    """Tell it in a line of its own."""
    words = without_words(found)
    if words:
        yield f"{words[0].upper()}{words[1:]}."
