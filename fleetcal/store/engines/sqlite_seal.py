"""A seal on an SQLite store, by which a copy of pages from different moments is known.

A plain copy of the file that is taken while a program writes, or without the journal
that a killed program left, can hold some pages from before a transaction and some from
after it. SQLite sees that only by chance. So every transaction of ours leaves in the
file's header a checksum of all pages (`PRAGMA user_version`) and the header's count of
transactions at which it holds (`PRAGMA application_id`). Pages of another moment do not
fit it. Where another program has written since, the count differs and nothing is said.

What stands on free pages is nobody's: SQLite does not bring it back when it undoes the
transaction of a killed program, so it is left out of the checksum. Seals of an older
version counted it; they are believed as they are.

Of mixtures made of a decision on many points half passed SQLite's check and ours. The
checksum costs half a millisecond for each megabyte; files above 64 MB are not sealed.
"""

from __future__ import annotations

import sqlite3
from struct import unpack_from
from typing import TYPE_CHECKING, Final
from zlib import crc32

from fleetcal.errors import StoreError

if TYPE_CHECKING:
    from sqlalchemy import Connection

# Offsets in the file's header (SQLite's documentation, "Database File Format", 1.3). What a
# commit itself changes is left out of the checksum: the count, the seal, the last writer's mark.
_COUNT: Final = slice(24, 28)
_COOKIE: Final = slice(40, 44)
_CHECKSUM: Final = slice(60, 64)
_SEALED_AT: Final = slice(68, 72)
_PAGE_SIZE: Final = slice(16, 18)
_FIRST_TRUNK: Final = slice(32, 36)
_HEADER_BYTES: Final = 100
_LEFT_OUT: Final = (_COUNT, _COOKIE, _CHECKSUM, _SEALED_AT, slice(92, 100))
#: Above this the pages are not looked at as a whole: it would take longer than the writing.
LARGEST_BYTES: Final = 2**26


def seal(connection: Connection) -> None:
    """Leave the seal in the transaction that is about to be kept.

    Args:
        connection: Of a writing transaction on a file.
    """
    seal_file(driver_of(connection))


def seal_file(file: sqlite3.Connection) -> None:
    """Leave the seal in a transaction that has begun."""
    pages = _pages(file)
    if pages is None:
        return
    checksum, count = _checksum(pages), _number(pages, _COUNT)
    if (checksum, count) == (_number(pages, _CHECKSUM), _number(pages, _SEALED_AT)):
        return  # nothing was changed, so nothing is written
    file.execute(f"PRAGMA user_version = {_signed(checksum)}")
    file.execute(f"PRAGMA application_id = {_signed((count + 1) % 2**32)}")


def refuse_mixed_file(file: sqlite3.Connection, label: str) -> None:
    """Raise if the pages of a file are not of one moment.

    Args:
        label: How the store is called in messages.

    Raises:
        StoreError: If so.
    """
    try:
        pages = _pages(file)
    except UnicodeDecodeError as error:  # SQLite quotes what it cannot read, letter by letter
        raise StoreError(
            f"{label} is damaged: the description of its tables cannot be read",
            "go back to a saved copy",
        ) from error
    if pages is None or _number(pages, _COUNT) != _number(pages, _SEALED_AT):
        return
    if _number(pages, _CHECKSUM) not in (_checksum(pages), _checksum_of_all(pages)):
        raise StoreError(
            f"{label} is damaged: its pages are not of one moment, as in a copy of the file "
            "taken while a program wrote, or without its -journal",
            "copy the original with 'fleetcal store backup', which makes a consistent copy at any "
            "time",
        )


def driver_of(connection: Connection) -> sqlite3.Connection:
    """Return the driver's own connection to a file."""
    file = connection.connection.dbapi_connection
    assert isinstance(file, sqlite3.Connection)
    return file


def _pages(file: sqlite3.Connection) -> bytes | None:
    """Return all pages as this transaction sees them, None if there are none or too many."""
    count, size = (file.execute(f"PRAGMA {n}").fetchone()[0] for n in ("page_count", "page_size"))
    if not 0 < count * size <= LARGEST_BYTES:
        return None
    return file.serialize()


def _number(pages: bytes, where: slice) -> int:
    return int.from_bytes(pages[where], "big")


def _checksum(pages: bytes) -> int:
    """Return the checksum of all that counts, free pages left out."""
    counting = bytearray(pages)
    size = _page_size(pages)
    for number in _free_pages(pages):
        counting[(number - 1) * size : number * size] = bytes(size)
    return _checksum_of_all(counting)


def _checksum_of_all(pages: bytes | bytearray) -> int:
    header = bytearray(pages[:_HEADER_BYTES])
    for where in _LEFT_OUT:
        header[where] = bytes(where.stop - where.start)
    return crc32(memoryview(pages)[_HEADER_BYTES:], crc32(header))


def _page_size(pages: bytes) -> int:
    return _number(pages, _PAGE_SIZE) if _number(pages, _PAGE_SIZE) > 1 else 65536


def _free_pages(pages: bytes) -> set[int]:
    """Return the numbers of the free pages that the list of free pages names, from 1.

    The pages of the list itself count. A list that leads nowhere ends there: the
    checksum then finds the damage.
    """
    size, last = _page_size(pages), len(pages) // _page_size(pages)
    found: set[int] = set()
    trunk, seen = _number(pages, _FIRST_TRUNK), set[int]()
    while 1 < trunk <= last and trunk not in seen:
        seen.add(trunk)
        start = (trunk - 1) * size
        trunk, count = unpack_from(">II", pages, start)
        if count <= size // 4 - 2:
            found.update(unpack_from(f">{count}I", pages, start + 8))
    return {number for number in found - seen if 1 < number <= last}


def _signed(number: int) -> int:
    """Return four bytes as SQLite takes them."""
    return number - 2**32 if number >= 2**31 else number
