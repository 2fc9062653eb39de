"""Draws lines, bands and points to scale, as text of an SVG whose colours follow the page."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from fleetcal.publish.markup import escaped
from fleetcal.publish.plain_text import signed

Place = tuple[float, float]
_STEPS: Final = (1.0, 2.0, 5.0, 10.0)


@dataclass(kw_only=True)
class Chart:
    """A drawing under way; lengths in units of its view box.

    Args:
        name: Unique on the page.
        left, right, top, bottom: Margins around the axes.
        across, up (tuple of (low, high)): What the axes span.
    """

    name: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    across: Place
    up: Place
    parts: list[str] = field(default_factory=list)

    @property
    def inner_right(self) -> float:
        """Right-hand end of the axes."""
        return self.width - self.right

    @property
    def floor(self) -> float:
        """Lower end of the axes."""
        return self.height - self.bottom

    def x(self, value: float) -> float:
        """Return where a value lies along."""
        share = (value - self.across[0]) / (self.across[1] - self.across[0])
        return self.left + share * (self.inner_right - self.left)

    def y(self, value: float) -> float:
        """Return where a value lies upwards."""
        share = (value - self.up[0]) / (self.up[1] - self.up[0])
        return self.floor - share * (self.floor - self.top)

    def line(self, places: Iterable[Place], kind: str) -> None:
        """Draw a line through places given in values."""
        path = _path((self.x(a), self.y(b)) for a, b in places)
        self.parts.append(f'<path class="{kind}" d="{path}"/>')

    def band(self, low: Sequence[Place], high: Sequence[Place], kind: str) -> None:
        """Fill between two lines of the same length."""
        around = [*low, *reversed(high)]
        path = _path((self.x(a), self.y(b)) for a, b in around)
        self.parts.append(f'<path class="{kind}" d="{path}Z"/>')

    def point(self, place: Place, u: float, kind: str, told: str) -> None:
        """Draw a point with its standard uncertainty and what it tells when asked."""
        x, y = self.x(place[0]), self.y(place[1])
        low, high = self.y(place[1] - u), self.y(place[1] + u)
        self.parts.append(
            f'<g class="{kind}"><title>{escaped(told)}</title>'
            f'<path d="M{x:.1f} {low:.1f}V{high:.1f}"/>'
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3"/></g>'
        )

    def words(self, x: float, y: float, words: str, kind: str = "", anchor: str = "start") -> None:
        """Write words at a place of the view box."""
        mark = f' class="{kind}"' if kind else ""
        self.parts.append(
            f'<text{mark} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escaped(words)}</text>'
        )

    def axes(self, across_words: str, up_words: str) -> None:
        """Draw grid, ticks, names of the axes and the line of no error."""
        for value in ticks(*self.up, 8):
            y = self.y(value)
            self.parts.append(
                f'<path class="grid" d="M{self.left:.1f} {y:.1f}H{self.inner_right:.1f}"/>'
            )
            places = 0 if value.is_integer() else 1
            self.words(self.left - 6.0, y + 4.0, signed(value, places), "tick", "end")
        for value in ticks(*self.across, 9 if self.width > 500.0 else 5):
            x = self.x(value)
            self.parts.append(f'<path class="axis" d="M{x:.1f} {self.floor:.1f}v5"/>')
            self.words(x, self.floor + 18.0, f"{value:.0f}", "tick", "middle")
        self.parts.append(
            f'<path class="axis" d="M{self.left:.1f} {self.top:.1f}V{self.floor:.1f}'
            f'H{self.inner_right:.1f}"/>'
        )
        if self.up[0] < 0.0 < self.up[1]:
            y = self.y(0.0)
            self.parts.append(
                f'<path class="zero" d="M{self.left:.1f} {y:.1f}H{self.inner_right:.1f}"/>'
            )
        self.words(2.0, self.top - 10.0, up_words)
        middle = (self.left + self.inner_right) / 2.0
        self.words(middle, self.floor + 36.0, across_words, "", "middle")

    def labels(self, wanted: Sequence[tuple[float, str, str]], apart: float = 14.0) -> None:
        """Name lines at their right-hand ends: (value, words, kind), none over another."""
        heights = sorted((self.y(value), words, kind) for value, words, kind in wanted)
        places: list[float] = []
        for height, _, _ in heights:
            places.append(max(height, places[-1] + apart) if places else height)
        lowest = self.floor
        for index in reversed(range(len(places))):
            places[index] = min(places[index], lowest)
            lowest = places[index] - apart
        for (height, words, kind), place in zip(heights, places, strict=True):
            start, end = self.inner_right + 3.0, self.inner_right + 14.0
            self.parts.append(
                f'<path class="lead {kind}" d="M{start:.1f} {height:.1f}L{end:.1f} {place:.1f}"/>'
            )
            self.words(end + 3.0, place + 4.0, words, kind)

    def pointer(self) -> None:
        """Put in the line that the page's script moves under the pointer."""
        self.parts.append(
            f'<line class="pointer" x1="0" x2="0" y1="{self.top:.1f}" y2="{self.floor:.1f}"/>'
        )

    def svg(self, title: str, told: str) -> str:
        """Return the drawing with title and description for those who cannot see it."""
        name = self.name
        return (
            f'<svg viewBox="0 0 {self.width:.0f} {self.height:.0f}" role="img" '
            f'aria-labelledby="{name}-title {name}-told" data-first="{self.across[0]:.4f}" '
            f'data-last="{self.across[1]:.4f}" data-left="{self.left:.1f}" '
            f'data-right="{self.inner_right:.1f}">\n'
            f'<title id="{name}-title">{escaped(title)}</title>'
            f'<desc id="{name}-told">{escaped(told)}</desc>\n' + "\n".join(self.parts) + "\n</svg>"
        )


def ticks(low: float, high: float, most: int) -> list[float]:
    """Return round values from low to high, at most so many."""
    rough = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in _STEPS if power * factor >= rough * (1.0 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(k * step, 9) for k in range(first, last + 1)]


def _path(places: Iterable[Place]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
