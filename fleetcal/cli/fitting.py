"""Tables that fit the terminal.

A heading goes over as many lines as it has words, its unit below; texts that may
be wrapped are, and then the least important columns are left out and named. What
still does not fit is turned: one block of lines a row.

Code of our own, because no library does that. rich 15 and tabulate 0.10 wrap cells
and cut columns short, but know no importance, no ranges and no turning; both take
40 to 50 ms to import (10 ms for what is used here), and are one more dependency.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final

from fleetcal.cli.prose import Laid, terminal_width, wrapped
from fleetcal.cli.table_column import ALWAYS, Cells

_GAP: Final = "  "
#: A heading goes over more lines only where a table has no room.
_HEADING_LINES: Final = 2
#: A text that is wrapped keeps at least so many letters a line.
_LEAST: Final = 14


def fitted_table(columns: Sequence[Cells], *, every_column: bool) -> list[str]:
    """Return columns side by side if they fit, and as one block a row if not.

    Args:
        every_column: Whether none may be left out.
    """
    shared, columns = _stated_once(columns)
    sections = [one for one in columns if one.column.section]
    columns = [one for one in columns if not one.column.section]
    above = [Laid(line) for text in shared for line in wrapped(text)]
    if not columns:
        return [*above]
    section = sections[0] if sections else None
    shown = columns if every_column else _chosen(columns)
    widths = _widths(shown)
    if widths is None:
        return [*above, *_turned(shown, section)]
    lines = [*above, *_headings(shown, widths), *_rows(shown, widths, section)]
    dropped = [one.heading for one in columns if one not in shown]
    if dropped:
        more = f"Left out, as the table would be too wide: {', '.join(dropped)}; see --details."
        lines += wrapped(more)
    return [Laid(line) for line in lines]


def _stated_once(columns: Sequence[Cells]) -> tuple[list[str], list[Cells]]:
    """Return what all rows share as a sentence, and the columns that are left; empty ones are not.

    Of one row everything is shared, and a table of it is wanted all the same.
    """
    filled = [one for one in columns if any(one.texts)]
    same = [one for one in filled if one.column.once and len(set(one.texts)) == 1]
    if not same:
        return [], filled
    words = ", ".join(f"{one.heading} {one.texts[0]}" for one in same)
    return [f"All: {words}."], [one for one in filled if one not in same]


def _chosen(columns: Sequence[Cells]) -> list[Cells]:
    """Return those that fit: the most important first, of equal ones the first."""
    order = sorted(columns, key=lambda one: -one.column.importance)
    shown: list[Cells] = []
    for one in order:
        tried = [each for each in columns if each in (*shown, one)]
        if one.column.importance == ALWAYS or _widths(tried) is not None:
            shown = tried
    return shown


def _widths(columns: Sequence[Cells]) -> list[int] | None:
    """Return the widths at which the columns fit, None if they do not."""
    room = terminal_width() - len(_GAP) * (len(columns) - 1)
    widths = [_natural(one) for one in columns]
    narrowest = [_least(one) if one.column.wraps else _natural(one) for one in columns]
    if sum(narrowest) > room:
        return None
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda i: widths[i] - narrowest[i])
        widths[widest] -= 1
    _relax(columns, widths, room)
    return widths


def _relax(columns: Sequence[Cells], widths: list[int], room: int) -> None:
    """Widen columns whose heading is higher than two lines, as far as there is room."""
    while sum(widths) < room:
        depth = [len(wrap(c.heading, width)) for c, width in zip(columns, widths, strict=True)]
        highest = max(range(len(widths)), key=lambda i: depth[i])
        if depth[highest] <= _HEADING_LINES:
            return
        widths[highest] += 1


def _natural(one: Cells) -> int:
    words = one.heading.split() or [""]
    return max(map(len, (*words, one.unit, *one.texts)))


def _least(one: Cells) -> int:
    words = [word for text in (one.heading, *one.texts) for word in text.split()]
    return min(_natural(one), max(_LEAST, *map(len, words), len(one.unit)))


def _headings(columns: Sequence[Cells], widths: Sequence[int]) -> Iterator[str]:
    above = [wrap(one.heading, width) for one, width in zip(columns, widths, strict=True)]
    units = any(one.unit for one in columns)
    depth = max(len(words) for words in above)
    blocks = [
        [*[""] * (depth - len(words)), *words, *([one.unit] if units else [])]
        for one, words in zip(columns, above, strict=True)
    ]
    yield from _side_by_side(columns, widths, blocks)


def _rows(columns: Sequence[Cells], widths: Sequence[int], section: Cells | None) -> Iterator[str]:
    count = len(columns[0].texts)
    order = _gathered(section.texts) if section else range(count)
    last = ""
    for row in order:
        if section is not None and section.texts[row] != last:
            yield from ["", *wrapped(f"{section.texts[row]}:")]
            last = section.texts[row]
        blocks = [
            wrap(one.texts[row], width, break_on_hyphens=False) or [""]
            if one.column.wraps
            else [one.texts[row]]
            for one, width in zip(columns, widths, strict=True)
        ]
        depth = max(map(len, blocks))
        padded = [[*block, *[""] * (depth - len(block))] for block in blocks]
        yield from _side_by_side(columns, widths, padded)


def _gathered(texts: Sequence[str]) -> list[int]:
    """Return the rows of one text together, in the order in which the texts come first."""
    first = {text: texts.index(text) for text in set(texts)}
    return sorted(range(len(texts)), key=lambda row: (first[texts[row]], row))


def _side_by_side(
    columns: Sequence[Cells], widths: Sequence[int], blocks: Sequence[Sequence[str]]
) -> Iterator[str]:
    for texts in zip(*blocks, strict=True):
        aligned = (
            text.rjust(width) if one.right else text.ljust(width)
            for one, width, text in zip(columns, widths, texts, strict=True)
        )
        yield _GAP.join(aligned).rstrip()


def _turned(columns: Sequence[Cells], section: Cells | None) -> Iterator[str]:
    """Yield one block a row, each value behind its heading."""
    every = [*([section] if section else []), *columns]
    wide = max(len(one.title) for one in every)
    for row in range(len(every[0].texts)):
        if row:
            yield Laid("")
        for one in every:
            room = max(_LEAST, terminal_width() - wide - len(_GAP))
            lines = wrap(one.texts[row], room, break_on_hyphens=False) or [""]
            for title, text in zip([one.title, *[""] * len(lines)], lines, strict=False):
                yield Laid(f"{title:<{wide}}{_GAP}{text}".rstrip())
