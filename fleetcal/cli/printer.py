"""All that is printed goes through here, so that no name or heading can steer the terminal.

A file may hold what a terminal obeys: sequences that recolour, retitle or type. Whatever made a
text, signs that are no letters become blanks here; ends of lines and tabs stay, and bold and colour
only where the program itself set them.
"""

from __future__ import annotations

import re
from typing import Final

import click

_CONTROL: Final = r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029]"
_TURNING: Final = r"[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]"
_STYLE: Final = r"\x1b\[[0-9;]{1,8}m"
_HARMFUL: Final = re.compile(f"{_CONTROL}|{_TURNING}")
_HARMFUL_BUT_STYLE: Final = re.compile(f"({_STYLE})|{_CONTROL}|{_TURNING}")


def echo(text: str, *, err: bool = False, nl: bool = True, color: bool | None = None) -> None:
    """Print text.

    Args:
        err: Whether to standard error.
        nl: Whether a line ends behind it.
        color: Whether bold and colour that the program set are kept; None if it set none.
    """
    if color is None:
        harmless = _HARMFUL.sub(_blank, text)
    else:
        harmless = _HARMFUL_BUT_STYLE.sub(lambda found: found[1] or _blank(found), text)
    click.echo(harmless, err=err, nl=nl, color=color)


def _blank(found: re.Match[str]) -> str:
    return "" if re.match(_TURNING, found[0]) else " "
