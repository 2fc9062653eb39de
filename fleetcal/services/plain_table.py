"""A table with columns of known names, read whole and complained of by line and column."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from fleetcal.services.plain_blocks import open_blocks
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_columns import KnownColumn

#: Hands on how a table was read, where it is not written as the program does.
Tell = Callable[[str], None]


@dataclass(frozen=True)
class PlainTable:
    """A file as it was read.

    Attributes:
        name: Without its folder.
        sha256: Of the bytes.
        headings: Exact ones.
        rows: At least one.
    """

    name: str
    sha256: str
    headings: tuple[str, ...]
    rows: tuple[FileRow, ...]


def silent(understood: str) -> None:
    """Keep to oneself how a table was read."""


def read_plain_table(path: Path, columns: Sequence[KnownColumn], tell: Tell = silent) -> PlainTable:
    """Read a table that somebody wrote, in any dialect.

    Args:
        columns: That may stand in the file, in any order.

    Raises:
        DataError: If the file is missing, empty or not text, a heading is unknown, repeated or can
            mean two columns, a row has another number of cells, or a cell can be read in two ways.
    """
    file = open_blocks(path, columns)
    if file.understood:
        tell(file.understood)
    rows = tuple(row for block in file for row in block.rows())
    return PlainTable(file.name, file.sha256, file.headings, rows)
