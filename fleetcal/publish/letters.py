"""Letters that the drawing font lacks: what a paper shows, and a warning nobody needs."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Final

from fleetcal.publish.plain_text import one_line

_STAND_IN: Final = "\ufffd"


@contextmanager
def glyphs_may_be_missing() -> Iterator[None]:
    """Keep the drawing library from complaining of letters that its font lacks.

    An SVG keeps the letters, and whoever shows it has more fonts.
    """
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font", category=Warning)
        warnings.filterwarnings("ignore", message="Matplotlib currently does not support")
        yield


def drawable(text: str, most: int = 400) -> str:
    """Return text on one line in letters that the font of a paper has.

    Args:
        most: Letters; longer text ends in an ellipsis.

    Returns:
        A letter that the font lacks is shown as a replacement sign.
    """
    known = _letters_of_font()
    kept = "".join(sign if ord(sign) in known else _STAND_IN for sign in one_line(text))
    return kept if len(kept) <= most else f"{kept[: most - 1]}…"


@cache
def _letters_of_font() -> frozenset[int]:
    from matplotlib.font_manager import FontProperties, fontManager, get_font

    font = get_font(fontManager.findfont(FontProperties(family=["DejaVu Sans"])))
    return frozenset(font.get_charmap())
