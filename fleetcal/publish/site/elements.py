"""Pieces that every page of the site is put together from."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.publish.markup import escaped
from fleetcal.publish.plain_text import MINUS, signed
from fleetcal.wording import decimal

_DAY: Final = re.compile(r"\d{4}-\d{2}(-\d{2})?")


@dataclass(frozen=True)
class Cell:
    """One cell of a table.

    Attributes:
        html: What it shows, escaped already.
        order: What it is sorted by; what it shows when empty.
    """

    html: str
    order: str = ""


@dataclass(frozen=True)
class Heading:
    """One column; a `plain` one is left-aligned text, one that is not `needed` gives way first."""

    name: str
    unit: str = ""
    plain: bool = False
    needed: bool = True


def text(words: str) -> Cell:
    """Return words from the store as a cell."""
    return Cell(_shown(words), escaped(words).casefold())


def _shown(words: str) -> str:
    shown = escaped(words)
    return f'<span class="day">{shown}</span>' if _DAY.fullmatch(shown) else shown


def link(words: str, href: str) -> Cell:
    """Return words that lead somewhere; plain words if there is nowhere to go."""
    order = escaped(words).casefold()
    if not href:
        return Cell(_shown(words), order)
    return Cell(f'<a href="{escaped(href)}">{_shown(words)}</a>', order)


def number(value: float | None, places: int = 1, *, sign: bool = False) -> Cell:
    """Return a number as a cell; a dash where there is none."""
    if value is None:
        return Cell('<span class="none">none</span>', "")
    shown = signed(value, places) if sign else decimal(value, places).replace("-", MINUS)
    return Cell(shown, f"{value:.6f}")


def section(name: str, heading: str, *parts: str) -> str:
    """Return a section with its heading; nothing if it has no content."""
    content = "\n".join(part for part in parts if part)
    if not content:
        return ""
    return (
        f'<section aria-labelledby="{name}">\n<h2 id="{name}">{escaped(heading)}</h2>\n'
        f"{content}\n</section>"
    )


def paragraph(words: str, kind: str = "") -> str:
    """Return a paragraph of words from the store; nothing if there are none."""
    if not words.strip():
        return ""
    mark = f' class="{kind}"' if kind else ""
    return f"<p{mark}>{escaped(words)}</p>"


def listed(sentences: Sequence[str]) -> str:
    """Return sentences as a list; nothing if there are none."""
    if not sentences:
        return ""
    return "<ul>\n" + "\n".join(f"<li>{escaped(said)}</li>" for said in sentences) + "\n</ul>"


def data_table(
    name: str,
    caption: str,
    headings: Sequence[Heading],
    rows: Sequence[Sequence[Cell]],
    *,
    sortable: bool = False,
) -> str:
    """Return a table with caption and scoped headings; the first cell of a row heads it.

    Args:
        name: Unique on the page.
        sortable: Whether the page's script makes its columns sort.

    Returns:
        HTML; nothing if there are no rows.
    """
    if not rows:
        return ""
    kind = "sortable" if sortable else "fixed"
    head = "".join(f'<th scope="col"{_mark(h)}>{_heading(h)}</th>' for h in headings)
    body = "\n".join(_row(headings, row, sortable) for row in rows)
    return (
        f'<div class="across" role="region" aria-labelledby="{name}" tabindex="0">\n'
        f'<table class="{kind}">\n<caption id="{name}">{escaped(caption)}</caption>\n'
        f"<thead>\n<tr>{head}</tr>\n</thead>\n<tbody>\n{body}\n</tbody>\n</table>\n</div>"
    )


def _heading(heading: Heading) -> str:
    unit = f' <span class="unit">{escaped(heading.unit)}</span>' if heading.unit else ""
    return f"{escaped(heading.name)}{unit}"


def _mark(heading: Heading) -> str:
    kinds = [*(["plain"] if heading.plain else []), *([] if heading.needed else ["spare"])]
    return f' class="{" ".join(kinds)}"' if kinds else ""


def _row(headings: Sequence[Heading], row: Sequence[Cell], sortable: bool) -> str:
    cells = []
    for place, (heading, cell) in enumerate(zip(headings, row, strict=True)):
        order = f' data-order="{cell.order}"' if sortable else ""
        if place == 0:
            cells.append(f'<th scope="row"{_mark(heading)}{order}>{cell.html}</th>')
        else:
            cells.append(f"<td{_mark(heading)}{order}>{cell.html}</td>")
    return f"<tr>{''.join(cells)}</tr>"
