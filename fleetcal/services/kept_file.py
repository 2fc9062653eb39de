"""A log that is kept in the store, as the file it was."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Final

from fleetcal.store import Store, find_log, log_content

#: Of a name, where file systems take 255 and others put words before it.
_LONGEST_BYTES: Final = 200


@contextmanager
def kept_file(store: Store, named: str) -> Iterator[Path]:
    """Yield a kept log as a file of its name, in a folder that is removed afterwards.

    Args:
        named: Its file name, or what its SHA-256 begins with.

    Raises:
        DataError: If there is no such log, or several.
    """
    with tempfile.TemporaryDirectory(prefix="fleetcal-") as folder:
        with store.reading() as session:
            log = find_log(session, named)
            path = Path(folder) / plain_name(log.file, "log")
            with path.open("wb") as file:
                for part in log_content(session, log):
                    file.write(part)
        yield path


def plain_name(name: str, otherwise: str) -> str:
    """Return a file name that lies in no other folder, whoever wrote it.

    One that is longer than file systems take loses the end of its stem.

    Args:
        otherwise: Taken if nothing is left of the name.
    """
    last = PurePosixPath(name.replace("\\", "/")).name.replace("\0", "")
    if last in ("", ".", ".."):
        return otherwise
    if len(last.encode("utf-8", "replace")) <= _LONGEST_BYTES:
        return last
    stem, ending = PurePosixPath(last).stem, PurePosixPath(last).suffix
    kept = stem.encode("utf-8", "replace")[: _LONGEST_BYTES - 40].decode("utf-8", "ignore")
    return kept + ending[:10]
