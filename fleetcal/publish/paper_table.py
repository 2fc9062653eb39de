"""A table on paper: columns as wide as their words, headings again on every page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

from fleetcal.publish.palette import LIGHT
from fleetcal.publish.paper import ALARM, BOLD, PLAIN, QUIET, Ink, Paper


@dataclass(frozen=True, kw_only=True)
class PaperTable:
    """How a table is laid out; numbers stand at the right-hand end of their column.

    Attributes:
        headings: Name of each column and what stands below it.
        rows: Cells of the rows that are to be written, from the first column on; the columns are
            made as wide as these and the headings are, with equal gaps.
        row: Height of a row.
        letters: Size of the letters in it.
        foot: Height that is kept free below.
        again: Writes what stands above the headings on a following page.
    """

    paper: Paper
    headings: Sequence[tuple[str, str]]
    rows: Sequence[Sequence[str]]
    row: float
    letters: float
    heading: float
    below: float
    foot: float
    again: Callable[[], None]

    @cached_property
    def ends(self) -> list[float]:
        """Right-hand end of each column."""
        widths = []
        for place, (name, below) in enumerate(self.headings):
            cells = [row[place] for row in self.rows if len(row) > place]
            widths.append(
                max(
                    self.paper.width_of(name, self.heading, BOLD),
                    self.paper.width_of(below, self.below),
                    *(self.paper.width_of(words, self.letters, BOLD) for words in cells),
                )
            )
        gap = (self.paper.inner - sum(widths)) / len(widths)
        reach = accumulate(width + gap for width in widths)
        return [self.paper.margin + end for end in reach]

    def begin(self) -> None:
        """Write the headings."""
        paper = self.paper
        for (name, below), end in zip(self.headings, self.ends, strict=True):
            paper.put(name, end, paper.top, self.heading, BOLD, right=True)
            lower = paper.top + 1.3 * self.heading
            paper.put(below, end, lower, self.below, QUIET, right=True)
        paper.top += 2.6 * self.heading + 4.0
        paper.rule(paper.top, weight=1.2, colour=LIGHT["ink"])

    def write(self, cells: Sequence[str], bold: int = 2, rows: int = 1) -> None:
        """Write a row, on the next page if this one has no room for so many rows.

        Args:
            cells: From the first column on.
            bold: How many of them are bold.
        """
        paper = self.paper
        if paper.left_over < rows * self.row + self.foot:
            paper.new_page()
            self.again()
            self.begin()
        top = paper.top + (self.row - 1.05 * self.letters) / 2.0
        for place, (words, end) in enumerate(zip(cells, self.ends, strict=False)):
            paper.put(words, end, top, self.letters, BOLD if place < bold else PLAIN, right=True)
        paper.top += self.row
        paper.rule(paper.top)

    def write_reason(self, first: str, reason: str, size: float, *, alarm: bool = False) -> None:
        """Write a row of its first cell and a sentence over the others."""
        self.write([first], rows=2 if alarm else 1)
        paper = self.paper
        left = self.ends[0] + 14.0
        ink = ALARM if alarm else Ink(italic=True, colour=LIGHT["quiet"])
        top = paper.top - (self.row + 1.05 * size) / 2.0
        paper.put(paper.fitted(reason, size, paper.right - left, ink), left, top, size, ink)
        if alarm:
            paper.rule(paper.top - self.row, weight=1.2, colour=LIGHT["alarm"])
