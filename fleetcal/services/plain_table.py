"""A plain CSV file with columns of known names, read whole and complained of by line and column."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fleetcal.services.plain_blocks import open_blocks
from fleetcal.services.point_cells import FileRow


@dataclass(frozen=True)
class PlainTable:
    """A file as it was read.

    Attributes:
        name: Without its folder.
        sha256: Of the bytes.
        rows: At least one.
    """

    name: str
    sha256: str
    headings: tuple[str, ...]
    rows: tuple[FileRow, ...]


def read_plain_table(path: Path, columns: Sequence[str]) -> PlainTable:
    """Read a CSV file.

    Args:
        columns: Headings that may stand in the file, in any order.

    Raises:
        DataError: If the file is missing, empty or not text, a heading is unknown or repeated, or a
            row has another number of cells.
    """
    file = open_blocks(path, columns)
    rows = tuple(row for block in file for row in block.rows())
    return PlainTable(file.name, file.sha256, file.headings, rows)
