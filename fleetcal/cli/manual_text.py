"""A topic of the manual as plain text: the Markdown that it uses, and no more."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from itertools import groupby

_LINK = re.compile(r"\[([^\]]+)\]\(([^)]+)\)")
_ITEM = re.compile(r"(?:- |\d+\. )")


def as_plain_text(markdown: str, width: int) -> str:
    """Return Markdown as text of at most so many letters a line, save for code."""
    return "\n\n".join("\n".join(_shown(block, width)) for block in _blocks(markdown))


def _blocks(markdown: str) -> Iterator[list[str]]:
    """Yield paragraphs, lists, tables and code, each as its lines."""
    block: list[str] = []
    in_code = False
    for line in markdown.splitlines():
        in_code ^= line.startswith("```")
        if line or in_code:
            block.append(line)
        elif block:
            yield block
            block = []
    if block:
        yield block


def _shown(block: list[str], width: int) -> list[str]:
    """Return the lines of one block as they are printed."""
    first = block[0]
    if first.startswith("```"):
        return [f"    {line}".rstrip() for line in block[1:-1]]
    if first.startswith("#"):
        return _heading(first)
    if first.startswith("|"):
        return _table(block, width)
    if _ITEM.match(first):
        return [line for item in _items(block) for line in _item(item, width)]
    return _wrapped(_plain(" ".join(line.removeprefix("> ") for line in block)), width)


def _plain(text: str, quote: str = "'") -> str:
    """Return text without marks for bold; code is quoted, a link to a topic names the topic."""
    text = _LINK.sub(lambda link: _named(link[1], link[2]), text)
    return text.replace("**", "").replace("`", quote)


def _named(words: str, place: str) -> str:
    name = f"'{place.removesuffix('.md')}'"
    return name if f"'{words}'" == name else f"{words} (see {name})"


def _heading(line: str) -> list[str]:
    words = _plain(line.lstrip("# "))
    return [words, ("=" if line.startswith("# ") else "-") * len(words)]


def _items(block: list[str]) -> list[str]:
    """Return each item of a list in one line."""
    numbers: list[int] = []
    for line in block:
        numbers.append((numbers[-1] if numbers else 0) + bool(_ITEM.match(line)))
    pairs = groupby(zip(numbers, block, strict=True), key=lambda pair: pair[0])
    return [" ".join(line.strip() for _, line in lines) for _, lines in pairs]


def _item(text: str, width: int) -> list[str]:
    mark = _ITEM.match(text)
    indent = " " * (mark.end() if mark else 0)
    return _wrapped(_plain(text), width, indent)


def _wrapped(text: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent=indent, break_on_hyphens=False)


def _table(block: list[str], width: int) -> list[str]:
    """Return a table with aligned columns; the last column takes the width that is left."""
    rows = [[_plain(cell.strip(), "") for cell in line.strip("|").split("|")] for line in block]
    del rows[1]
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    before = sum(widths[:-1]) + 2 * len(widths[:-1])
    lines: list[str] = []
    for row in rows:
        start = "".join(
            f"{cell:{wide}}  " for cell, wide in zip(row[:-1], widths[:-1], strict=True)
        )
        last = _wrapped(row[-1], max(width - before, 20)) or [""]
        lines += [f"{start}{last[0]}".rstrip(), *(" " * before + more for more in last[1:])]
    return lines
