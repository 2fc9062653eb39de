"""Pack a file and unpack it again, byte for byte, in bounded memory.

LZMA at its usual preset takes half a second for a log of 2 MB and leaves 12 % of it;
zlib leaves 17 % in a tenth of that. A log is packed once and its store copied and mailed
for years, so the smaller one is kept.
"""

from __future__ import annotations

import hashlib
import lzma
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from fleetcal.errors import DataError, StoreError
from fleetcal.plain_file import opened

PIECE_BYTES: Final = 256 * 1024
_AT_ONCE: Final = 1024 * 1024
_IN_MEMORY: Final = 8 * 1024 * 1024


@dataclass(frozen=True)
class PackedLog:
    """A packed file on its way into a store.

    Attributes:
        name, sha256: Of the file.
        file_bytes: Before it was packed.
        content (binary file): Packed; on disk where it is large.
    """

    name: str
    sha256: str
    file_bytes: int
    content: IO[bytes]

    def pieces(self) -> Iterator[bytes]:
        """Yield the packed content in pieces of `PIECE_BYTES`."""
        self.content.seek(0)
        while piece := self.content.read(PIECE_BYTES):
            yield piece


@contextmanager
def packed_file(path: Path) -> Iterator[PackedLog]:
    """Pack a file.

    Yields:
        Usable until the block ends.

    Raises:
        DataError: If the file cannot be read or is empty.
    """
    digest, size, packer = hashlib.sha256(), 0, lzma.LZMACompressor()
    with tempfile.SpooledTemporaryFile(_IN_MEMORY) as content:
        try:
            with opened(path) as file:
                while part := file.read(_AT_ONCE):
                    digest.update(part)
                    size += len(part)
                    content.write(packer.compress(part))
        except OSError as error:
            raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
        if size == 0:
            raise DataError(f"{path.name}: the file is empty", "give the log itself")
        content.write(packer.flush())
        yield PackedLog(path.name, digest.hexdigest(), size, content)


def unpacked(pieces: Iterable[bytes], sha256: str, file_bytes: int, name: str) -> Iterator[bytes]:
    """Yield the content of a packed file, part by part; it is whole only if the end is reached.

    Args:
        sha256: That the whole must have.
        file_bytes: That the whole must have; what unpacks to more is broken off.
        name: For messages.

    Raises:
        StoreError: If it is damaged.
    """
    digest, size = hashlib.sha256(), 0
    try:
        for part in _parts(pieces):
            digest.update(part)
            size += len(part)
            if size > file_bytes:
                break
            yield part
    except (lzma.LZMAError, EOFError) as error:
        raise _damaged(name, f"it does not unpack ({error})") from error
    if size != file_bytes:
        more = "more" if size > file_bytes else f"{size}"
        raise _damaged(name, f"it unpacks to {more} bytes instead of {file_bytes}")
    if digest.hexdigest() != sha256:
        raise _damaged(name, "it does not unpack to the SHA-256 of the file")


def _parts(pieces: Iterable[bytes]) -> Iterator[bytes]:
    opener = lzma.LZMADecompressor(memlimit=256 * _AT_ONCE)
    for piece in pieces:
        if opener.eof:
            raise EOFError("there are more bytes after its end")
        fed = piece
        while True:
            part = opener.decompress(fed, max_length=_AT_ONCE)
            if part:
                yield part
            if opener.eof or opener.needs_input:
                break
            fed = b""
    if not opener.eof:
        raise EOFError("its end is missing")
    if opener.unused_data:
        raise EOFError("there are more bytes after its end")


def _damaged(name: str, why: str) -> StoreError:
    return StoreError(
        f"the log {name} that is kept is damaged: {why}",
        "drop it, or go back to a backup; keep it again if you have the file",
    )
