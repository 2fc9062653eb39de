"""From bytes to lines: the character coding and the separator of a delimited text."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from typing import Final

from fleetcal.errors import EmptyFileError, NotTextError

NUMBER: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
CLOCK: Final = re.compile(
    r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}[T ]?)?(\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?)?"
    r"( ?[AaPp][Mm])?( ?(Z|[+-]\d{2}:?\d{2}|UTC))?"
)
MISSING_WORDS: Final = frozenset(
    {
        "",
        "-",
        "--",
        "---",
        "----",
        "n/a",
        "na",
        "nan",
        "null",
        "none",
        "*",
        "**",
        "***",
        "?",
        "#n/a",
    }
    | {"missing", "invalid", "inf", "-inf", "-nan"}
)
SEPARATORS: Final = ("\t", ";", ",", "|", " ")
_FOREIGN: Final = re.compile(r"[\t;,|]")
_MAGIC: Final = (
    (b"PK\x03\x04", "a compressed file or a spreadsheet workbook"),
    (b"\x1f\x8b", "a compressed file"),
    (b"%PDF", "a page document"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet workbook"),
    (b"SQLite format 3\x00", "a database"),
)
_SAMPLE_LINES: Final = 400


def decode(content: bytes, source_name: str) -> str:
    r"""Turn the bytes of a text file into text with ``\n`` line ends.

    UTF-8 with or without mark, UTF-16, else Windows code page 1252, which
    older recorders use for the degree sign.

    Parameters
    ----------
    content : bytes
    source_name : str
        File name for the message.

    Returns
    -------
    str

    Raises
    ------
    EmptyFileError
        If there is nothing but white space.
    NotTextError
        If the bytes are not text.
    """
    if not content.strip():
        raise EmptyFileError(
            f"{source_name} is empty.", "Export the flight from the recorder again."
        )
    for magic, what in _MAGIC:
        if content.startswith(magic):
            raise NotTextError(
                f"{source_name} is {what}, not delimited text.",
                "Export or save it as CSV first, one row a sample.",
            )
    text = _decoded(content)
    odd = sum(text.count(chr(code)) for code in (*range(9), *range(14, 26), *range(27, 32)))
    if odd > len(text) // 1000:
        raise NotTextError(
            f"{source_name} is a binary file, not delimited text.",
            "Export it from the recorder's own program as CSV.",
        )
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\x00", "")


def _decoded(content: bytes) -> str:
    """Decode by the mark, by the pattern of zero bytes, by validity; in this order."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    head = content[:4096]
    if head[1::2].count(0) > 0.4 * len(head[1::2]) and not head[::2].count(0):
        return content.decode("utf-16-le", errors="replace")
    if head[::2].count(0) > 0.4 * len(head[::2]) and not head[1::2].count(0):
        return content.decode("utf-16-be", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def split_cells(line: str, separator: str) -> list[str]:
    """Split one line into its cells, stripped of white space and quotes.

    Parameters
    ----------
    line : str
    separator : str
        One character; a blank stands for any run of white space.

    Returns
    -------
    list of str
    """
    if separator == " ":
        return line.split()
    if '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True))
        except csv.Error:
            cells = line.replace('"', "").split(separator)
    else:
        cells = line.split(separator)
    return [cell.strip() for cell in cells]


def is_value(cell: str) -> bool:
    """Tell whether a cell is a number, a date or a clock time."""
    return bool(NUMBER.fullmatch(cell)) or (cell[:1].isdigit() and bool(CLOCK.fullmatch(cell)))


def find_separator(lines: Sequence[str]) -> tuple[str, int] | None:
    """Find the character that splits the lines most evenly into clean cells.

    Parameters
    ----------
    lines : sequence of str
        Lines of the file without the blank ones.

    Returns
    -------
    (separator, width) or None
        The separator and the usual number of cells; None if no separator
        yields two or more columns.
    """
    sample = lines[:_SAMPLE_LINES]
    tail = sample[len(sample) // 2 :]
    best: tuple[float, int, str] | None = None
    for separator in SEPARATORS:
        score, width = _evenness(tail, separator)
        if width >= 2 and score > 0 and (best is None or (round(score, 2), width) > best[:2]):
            best = (round(score, 2), width, separator)
    return None if best is None else (best[2], best[1])


def _evenness(lines: Sequence[str], separator: str) -> tuple[float, int]:
    """Share of rows of the usual width times share of clean cells in them."""
    rows = [split_cells(line, separator) for line in lines]
    width, count = Counter(len(row) for row in rows).most_common(1)[0]
    cells = [cell for row in rows if len(row) == width for cell in row]
    clean = sum(is_value(cell) or not _FOREIGN.search(cell) for cell in cells)
    return count / len(rows) * clean / len(cells), width


def find_decimal(rows: Sequence[Sequence[str]]) -> str:
    """Tell whether numbers are written with a decimal point or a decimal comma.

    Parameters
    ----------
    rows : sequence of sequences of str
        Cells of some data rows.

    Returns
    -------
    str
        ``"."`` or ``","``.
    """
    cells = [cell for row in rows for cell in row if NUMBER.fullmatch(cell)]
    commas = sum("," in cell for cell in cells)
    points = sum("." in cell for cell in cells)
    return "," if commas > points else "."
