"""Numbers and names as text: signs, decimals, and names that cannot do harm."""

from __future__ import annotations

import hashlib
import math
import re
import unicodedata
from typing import Final

from fleetcal.wording import with_sign

MINUS = "\N{MINUS SIGN}"
_RUN_AS_FORMULA = re.compile(r"(^|;)(\s*)([=+\-@\uff1d\uff0b\uff0d\uff20])")
_RUN: Final = r"\s*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]"
_GUARDED: Final = re.compile(rf"(^|;)('*{_RUN})")
_UNGUARDED: Final = re.compile(rf"(^|;)'('*{_RUN})")
_NOT_FOR_FILE_NAMES = re.compile(r"[^A-Za-z0-9.-]")
_LONGEST_FILE_STEM = 150
_NEAR_INTEGER = 1e-9
# Signs that turn the order of the letters around, for all that follows them.
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def printable(text: str) -> str:
    """Return text that cannot harm what shows it, blanks as they are.

    Returns:
        Control characters and line ends are blanks. Signs that turn the direction of writing are
        left out, so that a name cannot turn the figures after it; a word of a right-to-left script
        keeps its own direction.
    """
    if text.isprintable():  # as nearly all is: none of those signs counts as printable
        return text
    kept = (
        " " if unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp") else sign
        for sign in text
        if sign not in _TURNING
    )
    return "".join(kept).replace("\ufffe", " ").replace("\uffff", " ")


def one_line(text: str) -> str:
    """Return printable text with one blank in place of several and none outside.

    Returns:
        Safe for XML and for one cell.
    """
    return " ".join(printable(text).split())


def signed(value: float, places: int = 1) -> str:
    """Return a number for people to read: always signed, with a true minus sign.

    Args:
        places: Decimals.

    Returns:
        For example ``+0.8``; a rounded zero has no sign.
    """
    return with_sign(value, places).replace("-", MINUS)


def sentence(words: str) -> str:
    """Return words as a sentence: a capital first letter, unless a file name begins it, and a stop.

    Returns:
        With one full stop, also where the words have one already.
    """
    first = words.partition(" ")[0].rstrip(".,:")
    begun = words if "." in first else f"{words[:1].upper()}{words[1:]}"
    return f"{begun.removesuffix('.')}."


def outward(low: float, high: float) -> str:
    """Return a band in whole numbers that holds all of it: the low end down, the high end up.

    Returns:
        For example ``116 to 120``.
    """
    # What differs from a whole number by rounding alone is that number.
    ends = math.floor(low + _NEAR_INTEGER), math.ceil(high - _NEAR_INTEGER)
    return f"{ends[0]} to {ends[1]}"


def harmless_cell(text: str) -> str:
    """Return text that no spreadsheet runs as a formula.

    A spreadsheet takes a cell that begins with ``=``, ``+``, ``-`` or ``@`` (also
    in their full-width forms) for a formula, and where the semicolon separates
    columns, the text after a semicolon begins a cell too.

    Returns:
        One line, with an apostrophe before each such sign.
    """
    return _RUN_AS_FORMULA.sub(r"\1\2'\3", one_line(text))


def guarded_cell(text: str) -> str:
    """Return text that no spreadsheet runs, and that `unguarded_cell` gives back letter by letter.

    Returns:
        With an apostrophe more before what would be run, as in `harmless_cell`.
    """
    return _GUARDED.sub(r"\1'\2", text)


def unguarded_cell(text: str) -> str:
    """Return the text that `guarded_cell` was given."""
    return _UNGUARDED.sub(r"\1\2", text) if "'" in text else text


def file_stem(*names: str) -> str:
    """Return a file name without ending that is the same for the same names only.

    Args:
        *names: The names that together tell one file from another.

    Returns:
        Letters, digits, dots, hyphens and underscores. Names with other signs, or too long ones,
        end in a digest, so that two of them never meet.
    """
    plain = "__".join(name.replace(" ", "_") for name in names)
    safe = "__".join(_NOT_FOR_FILE_NAMES.sub("_", name) for name in names)
    reversible = all(name and "_" not in name and name == one_line(name) for name in names)
    ambiguous = safe != plain or not reversible or safe.startswith((".", "-"))
    if not ambiguous and len(safe) <= _LONGEST_FILE_STEM:
        return safe
    digest = hashlib.sha256("\x1f".join(names).encode("utf-8", "backslashreplace")).hexdigest()[:12]
    return f"{safe[:_LONGEST_FILE_STEM].lstrip('._-') or 'group'}-{digest}"
