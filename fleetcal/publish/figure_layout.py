"""Where the parts of the figure lie, all lengths in points (1/72 inch)."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Final

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_words import title_words

LINE_HEIGHT: Final = 1.3
_EDGE: Final = 8.0
_MOST_LINES: Final = 4
_NO_BREAK: Final = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, kw_only=True)
class FigureLayout:
    """What a wide and a narrow drawing differ in; `letters` fit on a line of small text."""

    name: str
    width: float
    plot_height: float
    left: float
    right: float
    text: float
    letters: int
    labels_at_curves: bool

    @property
    def plot_width(self) -> float:
        """Width of the axes."""
        return self.width - self.left - self.right

    @property
    def small_text(self) -> float:
        """Size of the text that explains."""
        return self.text - 1.0


WIDE: Final = FigureLayout(
    name="wide",
    width=720,
    plot_height=320,
    left=48,
    right=142,
    text=11,
    letters=112,
    labels_at_curves=True,
)
NARROW: Final = FigureLayout(
    name="narrow",
    width=350,
    plot_height=250,
    left=40,
    right=10,
    text=11,
    letters=52,
    labels_at_curves=False,
)


@dataclass(frozen=True, kw_only=True)
class Frame:
    """The words around the axes and the heights they take, from the top downwards."""

    layout: FigureLayout
    title: str
    facts: str
    caution: str
    key_lines: int
    unit: str = "kt"

    @property
    def facts_top(self) -> float:
        """Distance from the top edge to the line of facts."""
        return _EDGE + _height(self.title, self.layout.text + 1.0)

    @property
    def key_top(self) -> float:
        """Distance from the top edge to the key of a narrow drawing."""
        return self.facts_top + _height(self.facts, self.layout.small_text) + 6.0

    @property
    def plot_top(self) -> float:
        """Distance from the top edge to the axes, with the axis name above them."""
        key = self.key_lines * self.layout.small_text * 1.4
        return self.key_top + key + self.layout.text * LINE_HEIGHT + 12.0

    @property
    def below_plot(self) -> float:
        """Height of the tick labels, the axis name and the caution."""
        return 46.0 + _height(self.caution, self.layout.small_text)

    @property
    def height(self) -> float:
        """Height of the whole drawing."""
        return self.plot_top + self.layout.plot_height + self.below_plot

    def axes_rectangle(self) -> tuple[float, float, float, float]:
        """Return left, bottom, width and height of the axes as fractions of the drawing."""
        return (
            self.layout.left / self.layout.width,
            self.below_plot / self.height,
            self.layout.plot_width / self.layout.width,
            self.layout.plot_height / self.height,
        )

    def at(self, from_left: float, from_top: float) -> tuple[float, float]:
        """Return a place as fractions of the drawing."""
        return from_left / self.layout.width, 1.0 - from_top / self.height


def frame_of(table: PooledTable, layout: FigureLayout) -> Frame:
    """Return the words around the axes, wrapped to the layout's width."""
    title = title_words(table)
    weight = f"{table.weight_kg:.0f}{_NO_BREAK}kg"
    facts = f"{one_line(table.pairing)}; flaps {one_line(table.flap_setting)}; {weight}"
    key_lines = 0 if layout.labels_at_curves else _lines_named(table)
    return Frame(
        layout=layout,
        title=_wrapped(title, layout.letters * 4 // 5),
        facts=_wrapped(facts, layout.letters),
        caution=_wrapped(f"{table.warning} {SHORT_CAUTION}".strip(), layout.letters),
        key_lines=key_lines,
        unit=table.form.speed_unit,
    )


def _lines_named(table: PooledTable) -> int:
    """Return how many lines a key has: curves, bands, points."""
    own = table.airframe
    return (3 if own is None else 2 + bool(own.group_mean)) + bool(table.points)


def _wrapped(text: str, letters: int) -> str:
    return "\n".join(textwrap.wrap(text, letters, max_lines=_MOST_LINES, placeholder=" …"))


def _height(text: str, size: float) -> float:
    return (text.count("\n") + 1) * size * LINE_HEIGHT
