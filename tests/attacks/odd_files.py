"""Files that are odd by design: as large, deep, broken or special as somebody can make them."""

from __future__ import annotations

import bz2
import gzip
import io
import lzma
import os
import socket
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

_METHODS = {
    "deflate": zipfile.ZIP_DEFLATED,
    "bzip2": zipfile.ZIP_BZIP2,
    "LZMA": zipfile.ZIP_LZMA,
}


def broken_archives(text: str) -> Iterator[tuple[str, str, bytes]]:
    """Yield packed files with bytes turned in the packed part, a name and the content of each."""
    rng = np.random.default_rng(30)
    for method, number in _METHODS.items():
        file = io.BytesIO()
        with zipfile.ZipFile(file, "w", number) as archive:
            archive.writestr("log.csv", text[:40000])
        whole = file.getvalue()
        yield f"zip by {method}, cut", "log.zip", whole[: len(whole) // 2]
        for trial in range(8):
            content = bytearray(whole)
            # behind the header of the member, and before the list of members
            for place in rng.integers(38, len(whole) - 100, 1 + trial):
                content[place] ^= 0xFF
            yield f"zip by {method}, {trial + 1} bytes turned", "log.zip", bytes(content)
    packed = gzip.compress(text.encode())
    yield "gzip, cut", "log.csv.gz", packed[: len(packed) // 2]
    yield "gzip, turned", "log.csv.gz", packed[:200] + bytes(reversed(packed[200:400]))
    yield "bzip2 alone", "log.bz2", bz2.compress(text.encode())
    yield "LZMA alone", "log.xz", lzma.compress(text.encode())


def odd_logs(text: str) -> Iterator[tuple[str, str, bytes]]:
    """Yield logs that are hard to read, with a name for the file."""
    yield from broken_archives(text)
    heading, _, rows = text.partition("\n")
    for what, content in (
        ("5 kB of blank lines before it", "\n" * 5000 + text),
        ("5 MB of blank lines before it", "\n" * 5_000_000 + text),
        ("blank lines only", "\n" * 5000),
        ("a heading of 16,000 brackets", f"{'(' * 16000},{heading}\n{_one_more(rows)}"),
        ("a heading of pairs of brackets", f"{'()' * 16000},{heading}\n{_one_more(rows)}"),
        ("a heading of 16,000 words", f"{'IAS ' * 16000},{heading}\n{_one_more(rows)}"),
        ("quotes without end", '"' + text),
        ("a line of 3 MB", "x" * 3_000_000 + "\n" + text),
        ("20,000 columns", _wide(20_000, 200)),
        ("100,000 columns", _wide(100_000, 20)),
        ("escape sequences", text.replace("IAS (kt)", "\x1b]0;x\x07\x1b[31mIAS (kt)", 1)),
    ):
        yield what, "log.csv", content.encode()


def _one_more(rows: str) -> str:
    return "\n".join(f"1,{row}" for row in rows.splitlines())


def _wide(columns: int, rows: int) -> str:
    heading = ",".join(f"col{i}" for i in range(columns))
    row = ",".join("1.5" for _ in range(columns))
    return "\n".join([heading, *[row] * rows]) + "\n"


def odd_toml(text: str) -> Iterator[tuple[str, bytes, bool]]:
    """Yield TOML files that are hard to read; whether it would be wrong to take them."""
    for what, content in (
        ("nested arrays", f"x = {'[' * 5000}{']' * 5000}\n{text}"),
        ("arrays 200 deep", f"x = {'[' * 200}{']' * 200}\n{text}"),
        ("nested tables", f"x = {'{a=' * 3000}1{'}' * 3000}\n{text}"),
        ("a dotted key 3,000 deep", f"{'.'.join('a' * 3000)} = 1\n{text}"),
        ("a number of 5,000 digits", f"x = {'9' * 5000}\n{text}"),
        ("a number of 4,000 digits", f"x = {'9' * 4000}\n{text}"),
        ("hexadecimal of 9,000 digits", f"x = 0x{'f' * 9000}\n{text}"),
        ("no end of a text", f'{text}\nx = """'),
        ("only brackets", "[" * 9000),
    ):
        yield what, content.encode(), True
    yield "not UTF-8", b"\xff\xfe" + text.encode(), True
    yield "zero bytes", b"\0" * 500, True
    yield "numbers of 4,000 digits in place", _all_numbers(text, "9" * 4000).encode(), True


def _all_numbers(text: str, digits: str) -> str:
    lines = text.splitlines()
    return "\n".join(
        f"{line.partition('=')[0]}= {digits}"
        if line.partition("=")[2].strip()[:1].isdigit() and "{" not in line
        else line
        for line in lines
    )


def odd_tables(text: str) -> Iterator[tuple[str, bytes]]:
    """Yield tables that are hard to read."""
    heading, _, rows = text.partition("\n")
    first = rows.splitlines()[0]
    for what, content in (
        ("empty", ""),
        ("blank lines", "\n" * 5000),
        ("blank lines before it", "\n" * 5000 + text),
        ("headings only", heading),
        ("20,000 columns", _wide(20_000, 20)),
        ("100,000 columns", _wide(100_000, 3)),
        ("100,000 empty cells", heading + "," * 100_000 + "\n" + first + "\n"),
        ("300,000 rows", heading + f"\n{first}" * 300_000 + "\n"),
        ("a cell of 3 MB", heading + "\n" + "x" * 3_000_000 + first + "\n"),
        ("a heading of 16,000 brackets", "(" * 16000 + "," + text),
        ("quotes without end", heading + '\n"' + rows),
        ("semicolons", text.replace(",", ";")),
        ("zero bytes", text.replace("1", "\0", 1)),
        ("returns only", text.replace("\n", "\r")),
    ):
        yield what, content.encode()


@contextmanager
def special_files(folder: Path) -> Iterator[list[Path]]:
    """Yield what has a name and is no file that can be read."""
    pipe, link, place = (folder / name for name in ("pipe.csv", "loop.csv", "folder.csv"))
    os.mkfifo(pipe)
    link.symlink_to(link)
    place.mkdir()
    short = Path("/tmp") / f"attack-{os.getpid()}.csv"
    listening = socket.socket(socket.AF_UNIX)
    listening.bind(str(short))
    try:
        yield [pipe, link, place, short, *map(Path, ("/dev/zero", "/dev/null", "/dev/full"))]
    finally:
        listening.close()
        short.unlink()
        pipe.unlink()
        link.unlink()
        place.rmdir()
