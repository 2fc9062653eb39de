"""The bytes of a log, packed or plain, as blocks of whole lines in UTF-8."""

from __future__ import annotations

import codecs
import gzip
import hashlib
import lzma
import os
import struct
import zipfile
import zlib
from collections.abc import Callable, Generator, Iterator
from contextlib import closing, contextmanager
from io import BufferedReader, BytesIO
from pathlib import Path
from typing import Final, Protocol

import numpy as np

from fleetcal.errors import DataError, EmptyFileError, MalformedFileError, NotTextError
from fleetcal.plain_file import opened

#: What is worked out of a block stays in the processor's cache.
BLOCK_BYTES: Final = 1 << 20
LARGEST_BYTES: Final = 4 << 30
LONGEST_LINE_BYTES: Final = 1 << 20
# text packs 3 to 30 times; beyond this and this size it was made to burst
LARGEST_RATIO: Final = 200
_RATIO_COUNTS_FROM: Final = 32 << 20
_GZIP: Final = b"\x1f\x8b"
_ZIP: Final = b"PK\x03\x04"
_DAMAGE: Final = (
    EOFError,
    zlib.error,
    lzma.LZMAError,
    ValueError,
    OSError,
    MemoryError,
    struct.error,
    gzip.BadGzipFile,
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
)
_MAGIC: Final = (
    (b"PK\x03\x04", "a packed file inside another, or a spreadsheet workbook"),
    (_GZIP, "a packed file inside another"),
    (b"%PDF", "a page document"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet workbook"),
    (b"SQLite format 3\x00", "a database"),
)
_NEWLINE, _BLANK = 10, 32
_ODD: Final = bytes([*range(1, 9), *range(14, 26), *range(27, 32)])


class _Readable(Protocol):
    """Anything that hands out bytes."""

    def read(self, size: int, /) -> bytes:
        """Return up to so many bytes, none at the end."""


def hash_of(path: Path) -> str:
    """Return the SHA-256 of the bytes of a file, as they lie on the disk.

    Returns:
        In hexadecimal.

    Raises:
        DataError: If the file cannot be read.
    """
    with _opened(path) as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def text_blocks(path: Path, seen: Callable[[bytes], object] | None = None) -> Iterator[bytes]:
    r"""Read a text file as blocks of whole lines.

    UTF-8 with or without mark, UTF-16, else Windows code page 1252, which
    older recorders use for the degree sign; plain, packed by gzip, or the only
    member of a zip archive.

    Args:
        seen: Is called with the bytes of the file as they lie there, in their order.

    Yields:
        UTF-8 without mark and zero bytes, each line ended by ``\n``.

    Raises:
        DataError: If the file cannot be read or is larger than 4 GiB.
        NotTextError: If it is not text, or a packed file that is damaged or bursts.
        EmptyFileError: If there is nothing but white space.
    """
    name = path.name
    filled = False
    with _opened(path) as file, closing(_unpacked(file, name, seen)) as pieces:
        for block in _complete_lines(_in_utf8(pieces, name), name):
            filled = filled or bool(block.strip())
            yield block
    if not filled:
        raise EmptyFileError(f"{name} is empty.", "Export the flight from the recorder again.")


@contextmanager
def _opened(path: Path) -> Iterator[BufferedReader]:
    """Open a file, or say why it cannot be opened or read."""
    try:
        with opened(path) as file:
            yield file
    except OSError as error:
        if isinstance(error, gzip.BadGzipFile):
            raise
        reason = error.strerror or type(error).__name__
        raise DataError(
            f"{path.name} cannot be read: {reason}.", "Check the path and the rights."
        ) from None


def _unpacked(
    file: BufferedReader, name: str, seen: Callable[[bytes], object] | None
) -> Generator[bytes, None, None]:
    """Read a file in pieces, unpacking it where its first bytes say that it is packed."""
    first = file.read(4)
    file.seek(0)
    if not first.startswith((_GZIP, _ZIP)):
        for piece in _limited(file, None, name):
            if seen is not None:
                seen(piece)
            yield piece
        return
    while seen is not None and (piece := file.read(BLOCK_BYTES)):
        seen(piece)
    file.seek(0)
    packed_bytes = os.fstat(file.fileno()).st_size
    try:
        if first.startswith(_GZIP):
            with gzip.GzipFile(fileobj=file) as inner:
                yield from _limited(inner, packed_bytes, name)
            return
        with zipfile.ZipFile(file) as archive:
            member = _only_member(archive, name)
            with archive.open(member) as inner:
                yield from _limited(inner, max(member.compress_size, 1), name)
    except _DAMAGE as error:
        raise NotTextError(
            f"{name} is a packed file that cannot be unpacked: {error or 'it is cut off'}.",
            "Pack it again, or unpack it first.",
        ) from None


def _only_member(archive: zipfile.ZipFile, name: str) -> zipfile.ZipInfo:
    """Return the one file in an archive."""
    members = [
        info
        for info in archive.infolist()
        if not info.is_dir() and not Path(info.filename).name.startswith((".", "__"))
    ]
    members = [info for info in members if not info.filename.startswith("__MACOSX/")]
    if any(info.filename == "[Content_Types].xml" for info in members):
        raise NotTextError(
            f"{name} is a spreadsheet workbook, not delimited text.",
            "Export or save it as CSV first, one row a sample.",
        )
    if len(members) != 1:
        raise NotTextError(
            f"{name} is an archive of {len(members)} files; it must hold one log.",
            "Unpack it and name the log.",
        )
    if members[0].flag_bits & 1:
        raise NotTextError(f"{name} is an archive with a password.", "Unpack it first.")
    return members[0]


def _limited(file: _Readable, packed_bytes: int | None, name: str) -> Iterator[bytes]:
    """Read in pieces, and stop where a file grows beyond any log."""
    total = 0
    while piece := file.read(BLOCK_BYTES):
        total += len(piece)
        bursts = (
            packed_bytes is not None
            and total > _RATIO_COUNTS_FROM
            and total > LARGEST_RATIO * packed_bytes
        )
        if bursts:
            raise NotTextError(
                f"{name} unpacks to more than {LARGEST_RATIO} times its size; it is no log.",
                "Unpack it first, if you know where it comes from.",
            )
        if total > LARGEST_BYTES:
            raise DataError(
                f"{name} holds more than {LARGEST_BYTES >> 30} GiB.", "Cut it into single flights."
            )
        yield piece


def _in_utf8(pieces: Iterator[bytes], name: str) -> Iterator[bytes]:
    """Bring pieces of any coding to UTF-8 without zero bytes; refuse what is no text."""
    head = next(pieces, b"")
    for magic, what in _MAGIC:
        if head.startswith(magic):
            raise NotTextError(
                f"{name} is {what}, not delimited text.",
                "Export or save it as CSV first, one row a sample.",
            )
    coding = wide_coding(head)
    if coding is None:
        head = head.removeprefix(codecs.BOM_UTF8)
        _refuse_binary(head, name)
        yield head.replace(b"\x00", b"") if b"\x00" in head else head
        for piece in pieces:
            yield piece.replace(b"\x00", b"") if b"\x00" in piece else piece
        return
    decoder = codecs.getincrementaldecoder(coding)(errors="replace")
    text = decoder.decode(head)
    _refuse_binary(text.encode("utf-8", "replace"), name)
    yield _narrow(text)
    for piece in pieces:
        yield _narrow(decoder.decode(piece))
    yield _narrow(decoder.decode(b"", final=True))


def _narrow(text: str) -> bytes:
    """Turn text into UTF-8 without marks and zero bytes."""
    return text.replace("\ufeff", "").replace("\x00", "").encode("utf-8", "replace")


def wide_coding(head: bytes) -> str | None:
    """Tell which two-byte coding a file has, by its mark or by where its zero bytes stand."""
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    sample = head[:4096]
    if sample[1::2].count(0) > 0.4 * len(sample[1::2]) and not sample[::2].count(0):
        return "utf-16-le"
    if sample[::2].count(0) > 0.4 * len(sample[::2]) and not sample[1::2].count(0):
        return "utf-16-be"
    return None


def _refuse_binary(head: bytes, name: str) -> None:
    """Refuse a file with more control characters than damage can explain."""
    letters = np.frombuffer(head, dtype=np.uint8)
    if np.count_nonzero(letters < _BLANK) == np.count_nonzero(letters == _NEWLINE):
        return  # as nearly always
    odd = len(head) - len(head.translate(None, delete=_ODD))
    if odd > max(len(head) // 1000, 1):
        raise NotTextError(
            f"{name} is a binary file, not delimited text.",
            "Export it from the recorder's own program as CSV.",
        )


def _complete_lines(pieces: Iterator[bytes], name: str) -> Iterator[bytes]:
    r"""Cut pieces at ends of lines and write every end as ``\n``."""
    rest = BytesIO()
    for piece in pieces:
        # a carriage return at the very end may be half of an end of line
        newline = piece.rfind(b"\n")
        cut = max(newline, piece.rfind(b"\r", newline + 1, -1)) + 1
        if not cut:
            rest.write(piece)
            if rest.tell() > LONGEST_LINE_BYTES + BLOCK_BYTES:
                raise MalformedFileError(
                    f"{name} has a line of more than {LONGEST_LINE_BYTES >> 20} MiB.",
                    "A log must be delimited text, one row a sample.",
                )
            continue
        yield _plain_ends(b"".join((rest.getvalue(), memoryview(piece)[:cut])))
        rest = BytesIO()
        rest.write(piece[cut:])
    if rest.tell():
        yield _plain_ends(rest.getvalue() + b"\n")


def _plain_ends(block: bytes) -> bytes:
    """Bring the ends of lines of one block to one form, and its coding to UTF-8."""
    if b"\r" in block:
        block = block.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if block.isascii():
        return block
    try:
        block.decode("utf-8")
    except UnicodeDecodeError:
        return block.decode("cp1252", errors="replace").encode("utf-8")
    return block
