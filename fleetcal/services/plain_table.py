"""A table with columns of known names, read whole and complained of by line and column."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fleetcal.errors import MalformedFileError
from fleetcal.services.plain_blocks import open_blocks
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_columns import KnownColumn

#: Of a table that somebody wrote; only files of points may be longer.
MOST_ROWS: Final = 20_000
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
            mean two columns, a row has another number of cells, a cell can be read in two ways,
            or there are more than `MOST_ROWS`.
    """
    file = open_blocks(path, columns)
    if file.understood:
        tell(file.understood)
    rows: list[FileRow] = []
    for block in file:
        if len(rows) + len(block.cells) > MOST_ROWS:
            raise MalformedFileError(
                f"{file.name}: more than {MOST_ROWS} rows", "give one flight or one card at a time"
            )
        rows += block.rows()
    return PlainTable(file.name, file.sha256, file.headings, tuple(rows))
