"""Lines of text for people: as wide as the terminal allows, wrapped at words, bold or coloured.

A command to copy, and a number with its unit, are never broken. Bold and colour are
used on a terminal only and carry no meaning of their own.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Iterable
from textwrap import wrap
from typing import Final

import click

from fleetcal.cli.shown_names import in_shorter_names
from fleetcal.cli.shown_units import in_shown_units
from fleetcal.cli.terminal import is_terminal
from fleetcal.plain_text import printable

#: Longer lines are hard to read, whatever the width of the terminal.
WIDEST_PROSE = 120
_NARROWEST: Final = 60
#: Where there is no terminal to ask.
_USUAL: Final = 80
_HANGING: Final = "  "
#: Stands for a blank that is not to be broken.
_TIED: Final = "\x00"
_UNBROKEN: Final = re.compile(
    r"'(?:fleetcal|git|pip) [^']*'|(?<=: )(?:\S*fleetcal|python -m fleetcal) .*$|(?<=: )--\S+ \S+$"
    r"|\d %(?!\w)|[\d.)] (?:kt|mph|km/h|ft|m|kg|lb|ft/min|°C|hPa)(?![\w/])|± ?\d"
)
_WARNINGS: Final = ("Beware:", "Doubt:", "Warning:", "Conflict ")


class Laid(str):
    """A line that is laid out already, such as one of a table, or one to be copied as it is."""

    __slots__ = ()


def terminal_width() -> int:
    """Return how many letters a line may have."""
    return max(_NARROWEST, shutil.get_terminal_size((_USUAL, 24)).columns)


def wrapped(text: str) -> list[str]:
    """Return a line as lines that fit, in the units that people are shown."""
    if isinstance(text, Laid):
        return [text]
    return folded(in_shown_units(in_shorter_names(printable(text))))


def folded(text: str) -> list[str]:
    """Return a line as lines that fit; those after the first hang by two blanks.

    Args:
        text: Blanks at its beginning are kept.
    """
    width = min(terminal_width(), WIDEST_PROSE)
    if len(text) <= width:
        return [text]
    words = text.lstrip(" ")
    indent = " " * (len(text) - len(words))
    tied = _UNBROKEN.sub(lambda found: found[0].replace(" ", _TIED), words)
    lines = wrap(
        tied,
        width,
        initial_indent=indent,
        subsequent_indent=indent + _HANGING,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_TIED, " ") for line in lines]


def answered(lines: Iterable[str]) -> list[str]:
    """Return the lines of an answer, wrapped and bold where that is allowed."""
    return [_styled(line, bold=True) for text in lines for line in wrapped(text)]


def plain_lines(lines: Iterable[str]) -> list[str]:
    """Return other lines, wrapped; warnings are yellow where that is allowed."""
    shown: list[str] = []
    for text in lines:
        grave = not isinstance(text, Laid) and text.lstrip().startswith(_WARNINGS)
        shown += [_styled(line, fg="yellow") if grave else line for line in wrapped(text)]
    return shown


def _styled(line: str, *, bold: bool | None = None, fg: str | None = None) -> str:
    return click.style(line, bold=bold, fg=fg) if line and colour_allowed() else line


def colour_allowed() -> bool:
    """Return whether standard output takes bold and colour, by common convention."""
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return is_terminal(sys.stdout) and os.environ.get("TERM") != "dumb"
