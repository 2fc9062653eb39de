"""Write a text file whole, or not at all."""

from __future__ import annotations

from pathlib import Path

from fleetcal.publish import write_file_whole


def write_text(path: Path, text: str) -> None:
    """Write beside and rename, so that no reader ever sees half a file.

    Raises:
        DataError: If the file cannot be written.
    """
    write_file_whole(path, text)
