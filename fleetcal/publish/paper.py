"""Pages of paper: sizes, lines of text by their true widths, rules, boxes and a foot.

Every PDF of the package is laid down with this, from the top of a page downwards; lengths
are points (1/72 inch).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from fleetcal.errors import ImplausibleError
from fleetcal.plain_text import one_line
from fleetcal.publish.palette import LIGHT

if TYPE_CHECKING:
    from fpdf import FPDF

#: Width and height of a sheet: ISO 216 and the American letter.
PAPERS: Final = {
    "a4": (595.28, 841.89),
    "letter": (612.0, 792.0),
}
#: Half a sheet of each.
HALF_PAPERS: Final = {
    "a4": (419.53, 595.28),
    "letter": (396.0, 612.0),
}
BLACK: Final = "#000000"
_FONT: Final = "DejaVu Sans"
_FONT_FILES: Final = {
    "": "DejaVuSans.ttf",
    "B": "DejaVuSans-Bold.ttf",
    "I": "DejaVuSans-Oblique.ttf",
}
#: The library works a document's name out of its contents and a date; the date is not put out.
_NO_DAY: Final = datetime(1970, 1, 1, tzinfo=UTC)
_STAND_IN: Final = "\ufffd"
_LINE: Final = 1.35
#: How far the foot of a line's letters lies below its top, in parts of their size.
_ASCENT: Final = 0.86


def paper_size(sizes: dict[str, tuple[float, float]], name: str) -> tuple[float, float]:
    """Return width and height of a paper.

    Args:
        sizes: `PAPERS` or `HALF_PAPERS`.

    Raises:
        ImplausibleError: If there is no such paper.
    """
    if name not in sizes:
        raise ImplausibleError(f"there is no paper {name!r}", f"known: {', '.join(sizes)}")
    return sizes[name]


@dataclass(frozen=True)
class Ink:
    """How words are written."""

    bold: bool = False
    italic: bool = False
    colour: str = BLACK

    @property
    def style(self) -> str:
        """The font's style as the library calls it."""
        return "B" if self.bold else "I" if self.italic else ""


PLAIN: Final = Ink()
BOLD: Final = Ink(bold=True)
QUIET: Final = Ink(colour=LIGHT["quiet"])
ALARM: Final = Ink(bold=True, colour=LIGHT["alarm"])


class Paper:
    """A document under way; `top` is where the next line begins, from the upper edge.

    Args:
        size: Width and height.
    """

    def __init__(self, title: str, size: tuple[float, float], margin: float) -> None:
        from fpdf import FPDF

        self.pdf: FPDF = FPDF(unit="pt", format=size)
        self.pdf.set_auto_page_break(False)
        self.pdf.c_margin = 0.0
        for style, path in _font_files().items():
            self.pdf.add_font(_FONT, style, path)
        self.pdf.set_font(_FONT)
        self._letters: Collection[int] = getattr(self.pdf.current_font, "cmap", ())
        self.width, self.height = size
        self.margin = margin
        self.pdf.set_title(self.drawable(title))
        self.pdf.set_producer("")
        self.pdf.set_creation_date(_NO_DAY)
        self.new_page()

    @property
    def inner(self) -> float:
        """Width between the margins."""
        return self.width - 2.0 * self.margin

    @property
    def right(self) -> float:
        """Where the right-hand margin begins."""
        return self.width - self.margin

    @property
    def left_over(self) -> float:
        """Height that is still free."""
        return self.height - self.margin - self.top

    def new_page(self) -> None:
        """Begin a page."""
        self.pdf.add_page()
        self.top = self.margin

    def pages(self) -> Iterator[int]:
        """Yield the number of each page, and write on that page meanwhile."""
        for number in range(1, self.pdf.pages_count + 1):
            self.pdf.page = number
            self.pdf.set_font(_FONT, "I", 1.0)  # the library sets no font that it has set before
            yield number

    def drawable(self, text: str, most: int = 400) -> str:
        """Return text on one line in letters that the font has.

        Args:
            most: Letters; longer text ends in an ellipsis.

        Returns:
            A letter that the font lacks is shown as a replacement sign.
        """
        known = self._letters
        kept = "".join(sign if ord(sign) in known else _STAND_IN for sign in one_line(text))
        return kept if len(kept) <= most else f"{kept[: most - 1]}…"

    def width_of(self, text: str, size: float, ink: Ink = PLAIN) -> float:
        """Return how wide a line is."""
        self.pdf.set_font(_FONT, ink.style, size)
        return self.pdf.get_string_width(text)

    def fitted(self, text: str, size: float, width: float, ink: Ink = PLAIN) -> str:
        """Return a line cut so that it fits a width, with an ellipsis where it was cut."""
        kept = self.drawable(text)
        if self.width_of(kept, size, ink) <= width:
            return kept
        while kept and self.width_of(f"{kept} …", size, ink) > width:
            kept = kept[:-1].rstrip()
        return f"{kept} …"

    def lines(
        self, text: str, size: float, width: float, ink: Ink = PLAIN, most: int = 12
    ) -> list[str]:
        """Return a paragraph as lines that fit a width; what is longer ends in an ellipsis."""
        from fpdf.enums import MethodReturnValue

        self.pdf.set_font(_FONT, ink.style, size)
        found: Any = self.pdf.multi_cell(
            width,
            text=self.drawable(text, 2000),
            align="L",
            dry_run=True,
            output=MethodReturnValue.LINES,
        )
        kept = [str(line) for line in found]
        if len(kept) > most:
            kept = [*kept[: most - 1], self.fitted(" ".join(kept[most - 1 :]), size, width, ink)]
        return kept

    def put(
        self,
        text: str,
        place: float,
        top: float,
        size: float,
        ink: Ink = PLAIN,
        *,
        right: bool = False,
    ) -> None:
        """Write one line at a place, moving nothing.

        Args:
            text: In letters that the font has.
            place: Left end of the line, or its right end if `right`.
        """
        left = place - self.width_of(text, size, ink) if right else place
        self.pdf.set_font(_FONT, ink.style, size)
        self.pdf.set_text_color(ink.colour)
        self.pdf.text(left, top + _ASCENT * size, text)

    def write(
        self, text: str, size: float, ink: Ink = PLAIN, *, gap: float = 0.0, indent: float = 0.0
    ) -> None:
        """Write a paragraph over the whole width and move down past it."""
        for line in self.lines(text, size, self.inner - indent, ink):
            self.put(line, self.margin + indent, self.top, size, ink)
            self.top += size * _LINE
        self.top += gap

    def needed(self, text: str, size: float) -> float:
        """Return the height that a paragraph takes."""
        return len(self.lines(text, size, self.inner)) * size * _LINE

    def rule(self, top: float, *, weight: float = 0.5, colour: str = LIGHT["rule"]) -> None:
        """Draw a line from margin to margin."""
        self.line((self.margin, top), (self.right, top), weight, colour)

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        weight: float,
        colour: str = BLACK,
    ) -> None:
        """Draw a line between two places (from the left edge, from the top)."""
        self.pdf.set_line_width(weight)
        self.pdf.set_draw_color(colour)
        self.pdf.line(*start, *end)

    def box(self, left: float, top: float, width: float, height: float, weight: float) -> None:
        """Draw a box to write in."""
        self.pdf.set_line_width(weight)
        self.pdf.set_draw_color(BLACK)
        self.pdf.rect(left, top, width, height)

    def content(self) -> bytes:
        """Return the document; the same pages give the same bytes."""
        return bytes(self.pdf.output(output_producer_class=_undated()))


@cache
def _font_files() -> dict[str, Path]:
    """Return the font that comes with the drawing library, one file for each style."""
    from matplotlib import get_data_path

    folder = Path(get_data_path()) / "fonts" / "ttf"
    return {style: folder / name for style, name in _FONT_FILES.items()}


@cache
def _undated() -> Any:
    """Return how the library puts out a document, without the moment at which it does."""
    from fpdf.output import OutputProducer, PDFInfo

    class Undated(OutputProducer):
        def _add_info(self) -> PDFInfo:
            info = super()._add_info()
            del info.creation_date
            return info

    return Undated
