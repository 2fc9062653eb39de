"""The rows of a table on a page: a site has tens of thousands of cells, each a few words.

Made by a template's macro, cell by cell, they took half of the time of all pages.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from fleetcal.plain_text import one_line
from fleetcal.publish.page_columns import PageColumn

if TYPE_CHECKING:
    from markupsafe import Markup

#: From the path of a page, from the root of the site, to an address that leads there.
Address = Callable[[str], str]


def table_rows(columns: Sequence[PageColumn], rows: Sequence[Any], to: Address | None) -> Markup:
    """Return the rows of a table as HTML; the first cell of each heads it.

    Args:
        rows: Each with its fields by name or place.
        to: None where no column leads to a page.
    """
    from markupsafe import Markup

    marked = [(column, f' class="{_safe(column.mark)}"' * bool(column.mark)) for column in columns]
    lines = []
    for row in rows:
        cells = [f"<td{mark}>{_held(column, row, to)}</td>" for column, mark in marked[1:]]
        column, mark = marked[0]
        head = f'<th scope="row"{mark}>{_held(column, row, to)}</th>'
        lines.append(f"<tr>{head}{''.join(cells)}</tr>\n")
    return Markup("".join(lines))


def _held(column: PageColumn, row: Any, to: Address | None) -> str:
    """Return what a cell holds, with the link that it is."""
    words = _words(column, row)
    href = _field(row, column.link) if column.link else ""
    if not href:
        return words
    assert to is not None  # a page with links knows where they lead
    return f'<a href="{_safe(to(href))}">{words}</a>'


def _words(column: PageColumn, row: Any) -> str:
    value = _field(row, column.field)
    if column.only_if and not _field(row, column.only_if):
        return ""
    if value is None:
        return '<span class="none">none</span>'
    if column.high is not None:
        return str(band_ends(column.shown(value), column.shown(_field(row, column.high))))
    if column.is_day(value):
        return f'<span class="day">{_safe(str(value))}</span>'
    if column.alarms and value in column.alarms:
        return f'<span class="verdict-outside">{_safe(str(value))}</span>'
    return _safe(column.shown(value))


def band_ends(low: str, high: str) -> Markup:
    """Return the ends of a band, which part after the word between them on a short line."""
    from markupsafe import Markup

    ends = (f'<span class="end">{_safe(end)}</span>' for end in (low, high))
    return Markup("&nbsp;to ".join(ends))


def _field(row: Any, field: str | int) -> Any:
    """Return what a row holds by name or place."""
    if isinstance(field, str) and not isinstance(row, dict):
        return getattr(row, field)
    return row[field]


def _safe(words: str) -> str:
    return html.escape(one_line(words))
