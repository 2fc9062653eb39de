"""The pooled table as Markdown, for a notice board, a wiki or a mail."""

from __future__ import annotations

import html
import re
from typing import Final

from fleetcal.plain_text import one_line
from fleetcal.publish.band_words import band_meanings, cautions_of, lines_help
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_columns import printed_rows, table_columns
from fleetcal.publish.table_words import (
    fact_words,
    held_for_words,
    relation_words,
    title_words,
)

_MARKS: Final = re.compile(r"([\\`*_{}\[\]#|~^$@]|^[-+=]|(?<=^\d)[.)])")


def table_markdown(table: PooledTable) -> str:
    """Return the pooled table as Markdown text.

    Returns:
        Heading, cautions, table and what stands behind it. Names from the store can bring in
        neither marks nor HTML.
    """
    form = table.form
    parts = [
        f"# Position correction: {harmless_markdown(title_words(table))}",
        harmless_markdown(held_for_words(table)),
        *([f"**{harmless_markdown(table.warning)}**"] if table.warning else []),
        *_own_answers(table),
        " ".join(("**Before you use this.**", *map(harmless_markdown, cautions_of(table)))),
        *_listed("What speaks against it", table.doubts),
        f"{relation_words(form)} {harmless_markdown(table.altitude_statement)}",
        _grid(table),
        " ".join(f"The **{name}** {harmless_markdown(rest)}" for name, rest in band_meanings(table))
        + f" {harmless_markdown(lines_help(table))}",
        *_listed("What was left out", table.left_out or ("Nothing was left out.",)),
        "\n".join(
            f"- {harmless_markdown(name)}: {harmless_markdown(words)}"
            for name, words in fact_words(table)
        ),
    ]
    return "\n\n".join(parts) + "\n"


def harmless_markdown(text: str) -> str:
    """Return text that a reader of Markdown shows as it is.

    Returns:
        One line; marks carry a backslash, and what HTML would read is escaped.
    """
    return _MARKS.sub(r"\\\1", html.escape(one_line(text), quote=False))


def _own_answers(table: PooledTable) -> list[str]:
    """Return what the indicator of an airframe does, and what the table rests on."""
    own = table.airframe
    if own is None:
        return []
    rests_on = (f"{sentence}." for sentence in own.rests_on)
    return [
        f"**{harmless_markdown(' '.join(own.answers))}**",
        harmless_markdown(" ".join(rests_on)),
    ]


def _grid(table: PooledTable) -> str:
    columns = table_columns(table)
    headings = [f"{c.plain_heading}, {c.unit}" if c.unit else c.plain_heading for c in columns]
    rows = [headings, ["---:"] * len(columns)]
    for row in printed_rows(table):
        cells = [*row.cells, harmless_markdown(row.reason)] if row.reason else [*row.cells]
        rows.append(cells + [""] * (len(columns) - len(cells)))
    return "\n".join("| " + " | ".join(cells) + " |" for cells in rows)


def _listed(heading: str, sentences: tuple[str, ...]) -> list[str]:
    if not sentences:
        return []
    items = "\n".join(f"- {harmless_markdown(sentence)}" for sentence in sentences)
    return [f"## {heading}", items]
