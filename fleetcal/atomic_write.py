"""Write a file completely or not at all.

What a killed program leaves (`.name.….partial`) is swept away an hour later by the next
write into that folder.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import stat
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Final

from fleetcal.errors import DataError

_LEFT_BEHIND: Final = re.compile(r"\..{1,80}\.[0-9a-f]{16}\.partial")
_LONGEST_WRITE_S: Final = 3600.0


def write_atomically(path: Path, text: str | bytes) -> None:
    """Write text or bytes to a file; whoever reads sees the old file or the new, never a part.

    The content goes to a new file next to the target, is forced to the disk, and
    takes the target's place in one step. Missing folders are made. An existing
    file keeps its permissions; a symbolic link stays a link to the new content.

    Args:
        text: Text is written as UTF-8, line ends as they are.

    Raises:
        DataError: If the file cannot be written; an existing file is then untouched.
    """
    with files_waiting({path: text}) as move_into_place:
        move_into_place()


@contextmanager
def files_waiting(contents: Mapping[Path, str | bytes]) -> Iterator[Callable[[], None]]:
    """Write new contents of files beside them, whole on the disk, and yield what puts them there.

    So the files can be sure to find room before something else is settled, and
    appear after it. What was not put in its place is gone when the block ends.

    Args:
        contents (mapping of path to text or bytes): As in `write_atomically`; put in place in this
            order.

    Yields:
        Puts every file in its place, each in one step.

    Raises:
        DataError: If a file cannot be written or put in its place.
    """
    waiting: dict[Path, tuple[Path, Path]] = {}

    def move_into_place() -> None:
        for path, (temporary, target) in waiting.items():
            with _refusal_of(path):
                os.replace(temporary, target)

    try:
        for path, text in contents.items():
            target = Path(os.path.realpath(path))
            temporary = target.with_name(f".{target.name[:80]}.{secrets.token_hex(8)}.partial")
            waiting[path] = temporary, target
            with _refusal_of(path):
                _write_temporary(temporary, target, text)
        yield move_into_place
    finally:
        for temporary, _ in waiting.values():
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)


@contextmanager
def _refusal_of(path: Path) -> Iterator[None]:
    """Explain why a file cannot be written."""
    try:
        yield
    except (OSError, UnicodeEncodeError) as problem:
        reason = problem.strerror if isinstance(problem, OSError) else "text is not valid Unicode"
        raise DataError(
            f"cannot write {path}: {reason or problem}",
            "give a folder that exists or can be made, on a disk with room, that you may write to",
        ) from problem


def _write_temporary(temporary: Path, target: Path, text: str | bytes) -> None:
    content = text if isinstance(text, bytes) else text.encode("utf-8")
    target.parent.mkdir(parents=True, exist_ok=True)
    _refuse_other_than_file(target)
    _sweep(target.parent)
    _write_and_flush(temporary, content)
    _keep_permissions(target, temporary)


@cache  # once for each folder; a site has hundreds of pages in one
def _sweep(folder: Path) -> None:
    """Remove what a program that was killed an hour ago or longer left behind."""
    for path in folder.iterdir():
        if _LEFT_BEHIND.fullmatch(path.name):
            with contextlib.suppress(OSError):
                if time.time() - path.stat().st_mtime > _LONGEST_WRITE_S:
                    path.unlink()


def _refuse_other_than_file(target: Path) -> None:
    if target.exists() and not target.is_file():
        raise IsADirectoryError(21, "there is something of that name that is not a file")


def _write_and_flush(path: Path, content: bytes) -> None:
    with open(path, "xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _keep_permissions(target: Path, temporary: Path) -> None:
    with contextlib.suppress(FileNotFoundError):
        temporary.chmod(stat.S_IMODE(target.stat().st_mode))
