"""Damage as files suffer it: cut, doubled, shuffled, overwritten."""

from __future__ import annotations

import numpy as np

JUNK = (
    b",", b";", b'"', b"\n", b"\r", b"\t", b"\x00", b"-9999", b"1e400", b"\xff", b"\xc3\x28",
    b":", b"25:61:61", b"9" * 400, b"nan", b"-", b"(", b"2024-13-45", b"1_000", b"0x1F",
    b"#", b"\xef\xbb\xbf", b"99999999999999999999", b"-inf", b"\x1a", b" " * 50, b"B235959",
)  # fmt: skip


def damaged(content: bytes, rng: np.random.Generator) -> bytes:
    """Damage a file in one to a few ways."""
    for _ in range(int(rng.integers(1, 5))):
        content = _WAYS[int(rng.integers(len(_WAYS)))](content, rng)
    return content


def _inserted(content: bytes, rng: np.random.Generator) -> bytes:
    for _ in range(int(rng.integers(1, 30))):
        place = int(rng.integers(0, len(content) + 1))
        content = content[:place] + JUNK[int(rng.integers(len(JUNK)))] + content[place:]
    return content


def _deleted(content: bytes, rng: np.random.Generator) -> bytes:
    place = int(rng.integers(0, len(content) + 1))
    return content[:place] + content[place + int(rng.integers(1, 400)) :]


def _cut(content: bytes, rng: np.random.Generator) -> bytes:
    return content[: int(rng.integers(0, len(content) + 1))]


def _flipped(content: bytes, rng: np.random.Generator) -> bytes:
    letters = bytearray(content)
    for _ in range(int(rng.integers(1, 60))):
        if letters:
            letters[int(rng.integers(len(letters)))] = int(rng.integers(256))
    return bytes(letters)


def _shuffled(content: bytes, rng: np.random.Generator) -> bytes:
    lines = content.split(b"\n")
    start = int(rng.integers(0, len(lines)))
    part = lines[start : start + int(rng.integers(2, 60))]
    order = rng.permutation(len(part))
    return b"\n".join([*lines[:start], *(part[i] for i in order), *lines[start + len(part) :]])


def _doubled(content: bytes, rng: np.random.Generator) -> bytes:
    begin, end = sorted(rng.integers(0, len(content) + 1, 2).tolist())
    return content[:end] + content[begin:]


def _swapped_cells(content: bytes, rng: np.random.Generator) -> bytes:
    lines = content.split(b"\n")
    for _ in range(int(rng.integers(1, 40))):
        row = int(rng.integers(len(lines)))
        cells = lines[row].split(b",")
        a, b = rng.integers(0, len(cells), 2).tolist()
        cells[a], cells[b] = cells[b], cells[a]
        lines[row] = b",".join(cells)
    return b"\n".join(lines)


def _overwritten_column(content: bytes, rng: np.random.Generator) -> bytes:
    lines = content.split(b"\n")
    place = int(rng.integers(0, 7))
    word = JUNK[int(rng.integers(len(JUNK)))].replace(b"\n", b"")
    for row in range(int(rng.integers(0, 10)), len(lines), int(rng.integers(1, 20))):
        cells = lines[row].split(b",")
        if place < len(cells):
            cells[place] = word
            lines[row] = b",".join(cells)
    return b"\n".join(lines)


_WAYS = (
    _inserted, _deleted, _cut, _flipped, _shuffled, _doubled, _swapped_cells, _overwritten_column,
)  # fmt: skip
