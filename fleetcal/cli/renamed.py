"""What commands and options that are gone are called now, from the manual's table."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from importlib.resources import files
from itertools import takewhile
from typing import Final

_TABLE: Final = "commands-old-and-new.md"
_ROW: Final = re.compile(r"^\| `(.+)` \| `(.+)` \|$", re.MULTILINE)


@cache
def renamed() -> tuple[tuple[str, str], ...]:
    """Return old and new of every row of the table."""
    text = files("fleetcal").joinpath("manual", _TABLE).read_text(encoding="utf-8")
    return tuple(_ROW.findall(text))


def new_command(group: Sequence[str], words: Sequence[str]) -> tuple[str, str] | None:
    """Return the name of a command that is gone, and what it is called now.

    Args:
        group: Words of the group that has no such command; none of the program itself.
        words: The line as it was typed after them.
    """
    line = [*group, *words]
    found = [(name, new) for name, _, new in _rows() if line[: len(name)] == name]
    if not found and not group and line[:1] in ([name[0]] for name, _, _ in _rows()):
        return f"fleetcal {words[0]}", f"see 'fleetcal manual {_TABLE.removesuffix('.md')}'"
    if not found:
        return None
    name, new = max(found, key=lambda row: len(row[0]))
    return f"fleetcal {' '.join(name)}", new


def new_option(command: Sequence[str], option: str) -> str | None:
    """Return a line of a command that shows what an option that is gone is called now."""
    return next((new for name, old, new in _rows() if name == [*command] and option in old), None)


def _rows() -> Iterator[tuple[list[str], list[str], str]]:
    """Give of every row the words of the old command, its options, and the new line."""
    for old, new in renamed():
        words = old.split()
        name = list(takewhile(re.compile("[a-z]").match, words))
        yield name, [word for word in words if word.startswith("--")], f"fleetcal {new}"
