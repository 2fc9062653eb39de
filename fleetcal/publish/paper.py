"""Sheets of paper: their sizes, and lines of text laid down from the top."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fleetcal.errors import ImplausibleError
from fleetcal.publish.drawing_file import drawing_style
from fleetcal.publish.letters import drawable, glyphs_may_be_missing
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Width and height of a sheet, in points (1/72 inch): ISO 216 and the American letter.
PAPERS: Final = {
    "a4": (595.28, 841.89),
    "letter": (612.0, 792.0),
}
#: Half a sheet of each.
HALF_PAPERS: Final = {
    "a4": (419.53, 595.28),
    "letter": (396.0, 612.0),
}
_LINE: Final = 1.35
#: Mean width of a letter of the font, in parts of its size.
_LETTER: Final = 0.545
#: How much wider a bold letter is.
_BOLD: Final = 1.16


def paper_size(sizes: dict[str, tuple[float, float]], name: str) -> tuple[float, float]:
    """Return width and height of a paper.

    Args:
        sizes: `PAPERS` or `HALF_PAPERS`.

    Returns:
        Tuple of (width, height): In points.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    if name not in sizes:
        raise ImplausibleError(f"there is no paper {name!r}", f"known: {', '.join(sizes)}")
    return sizes[name]


@dataclass(kw_only=True)
class Sheet:
    """One sheet; `top` is where the next line begins, in points from the upper edge."""

    figure: Figure
    width: float
    height: float
    margin: float
    top: float

    @property
    def inner(self) -> float:
        """Width between the margins."""
        return self.width - 2.0 * self.margin

    @property
    def left_over(self) -> float:
        """Height that is still free."""
        return self.height - self.margin - self.top

    def write(self, text: str, size: float, *, gap: float = 0.0, **style: Any) -> None:
        """Write a paragraph over the whole width and move down past it."""
        broad = _BOLD if style.get("fontweight") == "bold" else 1.0
        for line in wrapped(text, size * broad, self.inner):
            self.put(line, self.margin, self.top, size, **style)
            self.top += size * _LINE
        self.top += gap

    def put(self, text: str, left: float, top: float, size: float, **style: Any) -> None:
        """Write one line at a place, moving nothing."""
        self.figure.text(
            left / self.width,
            1.0 - top / self.height,
            text,
            va="top",
            fontsize=size,
            **style,
        )

    def rule(self, top: float, *, weight: float = 0.5, colour: str = "rule") -> None:
        """Draw a line from margin to margin."""
        from matplotlib.lines import Line2D

        height = 1.0 - top / self.height
        ends = (self.margin / self.width, 1.0 - self.margin / self.width)
        self.figure.add_artist(
            Line2D(ends, (height, height), linewidth=weight, color=LIGHT[colour])
        )


def wrapped(text: str, size: float, width: float, most: int = 12) -> list[str]:
    """Return a paragraph as lines that fit a width, in letters that the font has.

    Args:
        size, width: Of the letters and the line, points.
        most: Lines; longer text ends in an ellipsis.
    """
    letters = max(int(width / (size * _LETTER)), 8)
    plain = drawable(text, most * letters)
    return textwrap.wrap(plain, letters, max_lines=most, placeholder=" …")


def new_sheet(size: tuple[float, float], margin: float) -> Sheet:
    """Return an empty sheet.

    Args:
        size (tuple of (width, height)): Points.
    """
    from matplotlib.figure import Figure

    width, height = size
    figure = Figure(figsize=(width / 72.0, height / 72.0), facecolor="white")
    return Sheet(figure=figure, width=width, height=height, margin=margin, top=margin)


@contextmanager
def drawing() -> Iterator[None]:
    """Hold the settings under which sheets are drawn, the same on every machine."""
    import matplotlib.style

    with (
        matplotlib.style.context(["default", drawing_style("paper", 9.0)]),
        glyphs_may_be_missing(),
    ):
        yield


def paper_bytes(figures: list[Figure], title: str, size: tuple[float, float]) -> bytes:
    """Return figures as the pages of one PDF, without dates.

    Args:
        figures: A smaller one is put on its page with equal margins left, right and above.
        size (tuple of (width, height)): Of every page, points.
    """
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.transforms import Bbox

    width, height = size[0] / 72.0, size[1] / 72.0
    raw = io.BytesIO()
    told = {"Title": drawable(title), "Creator": None, "Producer": None, "CreationDate": None}
    with PdfPages(raw, metadata=told) as pages:
        for figure in figures:
            margin = (width - figure.get_figwidth()) / 2.0
            top = figure.get_figheight() + margin
            page = Bbox([[-margin, top - height], [width - margin, top]])
            pages.savefig(figure, bbox_inches=page)
    return raw.getvalue()
