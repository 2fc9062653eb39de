"""Files that people name are opened here: nothing else than a file, and never without an end.

A pipe waits for ever, and a device may have no end. Both are refused as an OSError, like a file
that is not there, so that whoever opens a file has one way of explaining what is wrong with it.
"""

from __future__ import annotations

import errno
import os
import stat
import tomllib
from io import BufferedReader
from pathlib import Path
from typing import Any, Final

#: Of files that are held in memory as they are.
LARGEST_BYTES: Final = 1 << 30
#: Of descriptions and settings.
_LARGEST_TOML: Final = 16 << 20
_DEEPEST: Final = 32
_LARGEST_NUMBER: Final = 1 << 63
_KINDS: Final = (
    (stat.S_ISFIFO, "it is a pipe, not a file"),
    (stat.S_ISSOCK, "it is a socket, not a file"),
    (stat.S_ISCHR, "it is a device, not a file"),
    (stat.S_ISBLK, "it is a device, not a file"),
)


def refuse_special(path: Path) -> None:
    """Raise if a path is there and is no file.

    Raises:
        OSError: If so, or if nobody may look.
    """
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    for is_kind, words in _KINDS:
        if is_kind(mode):
            raise OSError(errno.EINVAL, words, str(path))


def opened(path: Path) -> BufferedReader:
    """Open a file to be read.

    Raises:
        OSError: If it cannot be, or is no file.
    """
    refuse_special(path)
    return path.open("rb")


def bytes_of(path: Path, most: int = LARGEST_BYTES) -> bytes:
    """Return what a file holds.

    Args:
        most: Bytes that it may hold.

    Raises:
        OSError: If it cannot be read, is no file, or holds more.
    """
    with opened(path) as file:
        content = file.read(most + 1)
    if len(content) > most:
        raise OSError(errno.EFBIG, f"it holds more than {most >> 20} MiB", str(path))
    return content


def text_of(path: Path, most: int = _LARGEST_TOML) -> str:
    """Return what a file in UTF-8 holds, without a mark at its beginning.

    Raises:
        OSError: As `bytes_of`.
        UnicodeDecodeError: If it is not UTF-8.
    """
    return bytes_of(path, most).decode("utf-8-sig").replace("\r\n", "\n")


def toml_of(text: str) -> dict[str, Any]:
    """Return what a TOML file says.

    Raises:
        ValueError: If it is no TOML, or holds numbers or brackets that no such file needs.
    """
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise ValueError(_TOO_DEEP) from None
    inside: list[tuple[str, Any]] = [("", document)]
    for _ in range(_DEEPEST):
        for where, one in inside:
            if type(one) is int and abs(one) >= _LARGEST_NUMBER:
                raise ValueError(f"{where}: a number has too many digits")
        inside = [part for where, one in inside for part in _parts(where, one)]
        if not inside:
            return document
    raise ValueError(_TOO_DEEP)


_TOO_DEEP: Final = f"brackets stand in each other more than {_DEEPEST} deep"


def _parts(where: str, value: Any) -> list[tuple[str, Any]]:
    """Return what a table or list holds, each with where it stands."""
    if isinstance(value, dict):
        return [(f"{where}: {key}" if where else str(key), one) for key, one in value.items()]
    if isinstance(value, list):
        return [(f"{where} {number}", one) for number, one in enumerate(value, start=1)]
    return []
