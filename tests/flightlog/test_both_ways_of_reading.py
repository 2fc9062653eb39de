"""The fast way of reading a file and the careful one find the same rows, numbers and faults."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcal.errors import DataError
from fleetcal.flightlog import cells, file_bytes, row_blocks
from fleetcal.flightlog.cells import ColumnForm, NumberColumn, TextColumn, read_columns
from fleetcal.flightlog.clock_text import times_of_day
from fleetcal.flightlog.raw_table import read_table

# of one column: most have the same decimals in every row
USUAL = (
    st.integers(-9999, 9999).map(lambda n: f"{n / 10:.1f}"),
    st.integers(0, 99999).map(str),
    st.floats(-180.0, 180.0).map(lambda x: f"{x:.7f}"),
    st.one_of(st.just(""), st.integers(0, 9999).map(lambda n: f"{n / 100:.2f}")),
    st.one_of(st.integers(-99, 99).map(str), st.integers(-999, 999).map(lambda n: f"{n / 10:.1f}")),
)
ODD = st.one_of(
    st.sampled_from(["", " ", "-", "--", "nan", "NaN", "-nan", "inf", "-inf", "n/a", "null"]),
    st.sampled_from(["*", "?", "#N/A", "oops", "12abc", "95.5kt", "1e", "e5", "x" * 50, "10:00"]),
    st.sampled_from(["1e3", "-2.5E-2", "+7", "+", ".5", "5.", ".", "-.", "--5", "5-", "- 5"]),
    st.sampled_from(["1.2.3", "1 000", "1'000", "1_000", "1,5", "1.000,5", "0x1f", "0X", "True"]),
    st.sampled_from([" 8", "8 ", "\t9", "007", "-0", "-0.0", "-9999", "-99999.9", "9999.0"]),
    st.sampled_from(["123456789012345", "12345678.1234567", "1234567890.123456", "-12345678.9"]),
    st.sampled_from(['"3.5"', '"4"', '"a b"', '""', '"', "١٢", "é", "12°", "½", "0000000000001.5"]),
)
LINES = st.sampled_from(["", "   ", "# a comment", "% another", "!", "#", "1", "x", "\x1a"])


@st.composite
def files(draw: st.DrawFn) -> bytes:
    """A log as some recorder, spreadsheet or hand may have written it."""
    separator = draw(st.sampled_from([",", ";", "\t", "|"]))
    decimal_comma = separator != "," and draw(st.booleans())
    rows = draw(st.integers(5, 40))
    odd = draw(st.sampled_from([0, 0, 1, 3, 30]))  # cells of a hundred
    trailing = separator if draw(st.integers(0, 9)) == 0 else ""
    heading = separator.join(["time", draw(st.sampled_from(["IAS (kt)", "Höhe (m)"])), "a", "b"])
    lines = [f"# {draw(st.text('ab é', max_size=5))}"] * draw(st.integers(0, 2)) + [heading]
    strange = odd and draw(st.booleans())
    columns = [draw(st.sampled_from(USUAL)) for _ in range(3)]
    for row in range(rows):
        found = [f"10:{row // 60:02d}:{row % 60:02d}"]
        for usual in columns:
            is_odd = draw(st.integers(0, 99)) < odd
            found.append(draw(ODD if is_odd else usual))
        if decimal_comma:
            found = [cell.replace(".", ",") for cell in found]
        if strange and draw(st.integers(0, 30)) == 0:
            lines.append(draw(LINES | st.just(heading)))
        if strange and draw(st.integers(0, 30)) == 0:
            found = found[:-1] if draw(st.booleans()) else [*found, "7"]
        lines.append(separator.join(found) + trailing)
    end = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    text = end.join(lines) + (end if draw(st.booleans()) else "")
    coding = draw(st.sampled_from(["utf-8", "utf-8", "utf-8-sig", "cp1252", "utf-16"]))
    return text.encode(coding, "replace")


def nothing(*_: object) -> None:
    return None


@contextmanager
def carefully() -> Iterator[None]:
    """Let every line be looked at, and every column be read by the general reader."""
    with (
        mock.patch.object(row_blocks, "_plain_rows", nothing),
        mock.patch.object(cells, "cut_block", nothing),
    ):
        yield


def read(path: Path) -> dict[str, Any]:
    """Everything that is found in a file, or why it is refused."""
    try:
        table = read_table(path)
    except DataError as error:
        return {"refused": str(error)}
    found: dict[str, Any] = {
        "sha256": table.sha256,
        "lines": table.line_numbers.tolist(),
        "spoilt": table.spoilt,
        "headings": table.headings,
    }
    for index, heading in enumerate(table.headings):
        forms: list[ColumnForm] = [NumberColumn(heading), NumberColumn(heading, (-0.5, "oops"))]
        if not index:
            forms = [TextColumn(heading, "not a time", lambda cells: times_of_day(cells, ""))]
        for number, form in enumerate(forms):
            try:
                values, words = read_columns(table, {index: form})
            except DataError as error:
                found[f"{index} {number}"] = str(error)
            else:
                found[f"{index} {number}"] = (as_bits(values[index]), words)
    return found


def as_bits(values: np.ndarray[Any, np.dtype[np.float64]]) -> list[str]:
    return ["nan" if np.isnan(value) else float(value).hex() for value in values]


@settings(max_examples=150, deadline=None)
@given(files(), st.sampled_from([40, 1 << 20]))
def test_the_fast_way_and_the_careful_one_find_the_same(written: bytes, size: int) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        mock.patch.object(file_bytes, "BLOCK_BYTES", size),
    ):
        path = Path(folder) / "log.csv"
        path.write_bytes(written)
        fast = read(path)
        with carefully():
            careful = read(path)
    assert fast == careful
