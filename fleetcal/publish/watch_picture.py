"""What a drawing of the flights of one airframe shows, as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

#: What the band is, in a drawing.
ALLOWED_WORDS: Final = "what the others allow a flight: 199 of 200 series without a change stay in"
#: What the hatched part is.
PERHAPS_WORDS: Final = "where a change may lie, 95\u00a0%"
#: A drawing reaches as far up and down, so that small scatter looks small.
_LEAST_KT: Final = 1.5


@dataclass(frozen=True, kw_only=True)
class DrawnFlight:
    """One flight, in knots against the airframe's own mean before the first change.

    Attributes:
        day: As it may be shown.
        level_kt: Of its part of the series.
        allowed_low_kt, allowed_high_kt: What the other flights allow it, if there are enough.
        odd: Whether it is off by itself.
    """

    number: int
    day: str
    value_kt: float
    low_kt: float
    high_kt: float
    level_kt: float
    allowed_low_kt: float | None
    allowed_high_kt: float | None
    odd: bool

    @property
    def allowed(self) -> tuple[float, ...]:
        """Both ends of what it is allowed, if that is known."""
        if self.allowed_low_kt is None or self.allowed_high_kt is None:
            return ()
        return self.allowed_low_kt, self.allowed_high_kt


@dataclass(frozen=True)
class DrawnChange:
    """A change found before flight `first_after`, perhaps from and to other flights."""

    first_after: int
    perhaps_after: int
    perhaps_before: int
    words: str


@dataclass(frozen=True, kw_only=True)
class WatchPicture:
    """The flights of one airframe.

    Attributes:
        known (tuple of (first flight after it, words)): Changed on purpose.
    """

    title: str
    facts: str
    verdict: str
    heading: str
    flights: tuple[DrawnFlight, ...]
    changes: tuple[DrawnChange, ...] = ()
    known: tuple[tuple[float, str], ...] = ()

    @property
    def span_kt(self) -> tuple[float, float]:
        """Lowest and highest value drawn, with some room."""
        low = min(min(f.low_kt, *f.allowed, -_LEAST_KT) for f in self.flights)
        high = max(max(f.high_kt, *f.allowed, _LEAST_KT) for f in self.flights)
        room = 0.08 * max(high - low, 1.0)
        return low - room, high + room

    def levels(self) -> list[tuple[float, float, float]]:
        """Return first place, last place and level of each part of the series."""
        starts = [0.5, *(one.first_after - 0.5 for one in self.changes)]
        ends = [*starts[1:], len(self.flights) + 0.5]
        return [
            (start, end, self.flights[int(start)].level_kt)
            for start, end in zip(starts, ends, strict=True)
        ]


def dated(flights: Sequence[DrawnFlight], most: int) -> list[DrawnFlight]:
    """Return flights whose day is written, at most so many: the last, and others evenly apart."""
    step = -(-len(flights) // most)
    return list(flights[::-1][::step])[::-1]
