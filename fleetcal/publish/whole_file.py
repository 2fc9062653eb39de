"""Write a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from pathlib import Path

from fleetcal.errors import DataError


def write_file_whole(path: Path, text: str | bytes) -> None:
    """Write text or bytes to a file; whoever reads sees the old file or the new, never a part.

    The content goes to a new file beside the target, is forced to the disk, and
    takes the target's place in one step. Missing folders are made. An existing
    file keeps its permissions; a symbolic link stays a link to the new content.

    Parameters
    ----------
    path : Path
    text : str or bytes
        Text is written as UTF-8, line ends as they are.

    Raises
    ------
    DataError
        If the file cannot be written; an existing file is then untouched.
    """
    target = Path(os.path.realpath(path))
    beside = target.with_name(f".{target.name[:80]}.{secrets.token_hex(8)}.partial")
    try:
        content = text if isinstance(text, bytes) else text.encode("utf-8")
        target.parent.mkdir(parents=True, exist_ok=True)
        _refuse_other_than_file(target)
        _write_and_flush(beside, content)
        _keep_permissions(target, beside)
        os.replace(beside, target)
    except (OSError, UnicodeEncodeError) as problem:
        reason = problem.strerror if isinstance(problem, OSError) else "text is not valid Unicode"
        raise DataError(
            f"cannot write {path}: {reason or problem}",
            "give a folder that exists or can be made, on a disk with room, that you may write to",
        ) from problem
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)


def _refuse_other_than_file(target: Path) -> None:
    if target.exists() and not target.is_file():
        raise IsADirectoryError(21, "there is something of that name that is not a file")


def _write_and_flush(path: Path, content: bytes) -> None:
    with open(path, "xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _keep_permissions(target: Path, beside: Path) -> None:
    with contextlib.suppress(FileNotFoundError):
        beside.chmod(stat.S_IMODE(target.stat().st_mode))
