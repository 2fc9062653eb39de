"""Where values lie in a drawing to scale; lengths in units of its view box.

Why no library of charts: the smallest on the registry of scripts that draws series against an
axis has 51 kB (22 kB packed) on every page that stands alone, against 12 kB (4 kB packed) of our
scripts for read-out, zoom and layers, and it draws on a canvas. That is pixels: no words for a
screen reader, no lines for paper, no names to hover or to focus, nothing at all without a script.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from markupsafe import Markup

Place = tuple[float, float]
_STEPS: Final = (1.0, 2.0, 5.0, 10.0)
_APART: Final = 14.0


@dataclass(frozen=True, kw_only=True)
class Label:
    """The name of a line at its right-hand end, moved so that none lies over another."""

    words: str
    kind: str
    from_y: float
    y: float


@dataclass(frozen=True, kw_only=True)
class Chart:
    """The frame of a drawing.

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

    @property
    def wide(self) -> bool:
        """Whether there is room for names beside the axes."""
        return self.width > 500.0

    @property
    def inner_right(self) -> float:
        """Right-hand end of the axes."""
        return self.width - self.right

    @property
    def floor(self) -> float:
        """Lower end of the axes."""
        return self.height - self.bottom

    @property
    def scales(self) -> Markup:
        """What scripts need to know of the axes, as attributes of the drawing."""
        from markupsafe import Markup

        values = {
            "first": self.across[0],
            "last": self.across[1],
            "left": self.left,
            "right": self.inner_right,
            "low": self.up[0],
            "high": self.up[1],
            "top": self.top,
            "floor": self.floor,
        }
        return Markup(" ".join(f'data-{name}="{value:.4f}"' for name, value in values.items()))

    @property
    def up_ticks(self) -> list[float]:
        """Values that are marked upwards."""
        return ticks(*self.up, 8)

    @property
    def across_ticks(self) -> list[float]:
        """Values that are marked along."""
        return ticks(*self.across, 9 if self.wide else 5)

    def x(self, value: float) -> float:
        """Return where a value lies along."""
        share = (value - self.across[0]) / (self.across[1] - self.across[0])
        return self.left + share * (self.inner_right - self.left)

    def y(self, value: float) -> float:
        """Return where a value lies upwards."""
        share = (value - self.up[0]) / (self.up[1] - self.up[0])
        return self.floor - share * (self.floor - self.top)

    def path(self, places: Iterable[Place]) -> str:
        """Return the path of a line through places given in values."""
        return "M" + "L".join(f"{self.x(a):.1f} {self.y(b):.1f}" for a, b in places)

    def area(self, low: Sequence[Place], high: Sequence[Place]) -> str:
        """Return the path around what lies between two lines of the same length."""
        return f"{self.path([*low, *reversed(high)])}Z"

    def dots(self, places: Iterable[Place]) -> str:
        """Return the path of a dot at each place; a round cap of the line makes it visible."""
        return "".join(f"M{self.x(a):.1f} {self.y(b):.1f}h0" for a, b in places)

    def placed(self, texts: Sequence[tuple[float, str, str]], apart: float = _APART) -> list[Label]:
        """Return names of lines, given as (value, words, kind), at places of their own."""
        lines = sorted((self.y(value), words, kind) for value, words, kind in texts)
        places: list[float] = []
        for height, _, _ in lines:
            places.append(max(height, places[-1] + apart) if places else height)
        lowest = self.floor
        for index in reversed(range(len(places))):
            places[index] = min(places[index], lowest)
            lowest = places[index] - apart
        return [
            Label(words=words, kind=kind, from_y=height, y=place)
            for (height, words, kind), place in zip(lines, places, strict=True)
        ]


def ticks(low: float, high: float, most: int) -> list[float]:
    """Return round values from low to high, at most so many."""
    rough = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in _STEPS if power * factor >= rough * (1.0 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(k * step, 9) for k in range(first, last + 1)]


def curve_chart(name: str, *, wide: bool, names_width: float, across: Place, up: Place) -> Chart:
    """Return the frame of a curve, for wide screens or narrow ones.

    Args:
        names_width: Room for names at the right of a wide one.
        across, up (tuple of (low, high)): What the axes span.
    """
    return Chart(
        name=name,
        width=720.0 if wide else 340.0,
        height=400.0 if wide else 290.0,
        left=44.0 if wide else 38.0,
        right=names_width if wide else 8.0,
        top=30.0,
        bottom=46.0,
        across=across,
        up=up,
    )
