"""Cells cut out of blocks are those that stand there, and numbers are the nearest floats."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.errors import DataError
from fleetcal.flightlog import cells
from fleetcal.flightlog.cells import ColumnForm, NumberColumn, TextColumn, read_columns
from fleetcal.flightlog.cut_cells import CutBlock, cut_block
from fleetcal.flightlog.raw_table import read_table
from fleetcal.flightlog.row_blocks import RowBlock, RowForm
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.shapes import plain

CELLS = st.one_of(
    st.from_regex(r"\A-?[0-9]{1,7}(\.[0-9]{0,6})?\Z"),
    st.sampled_from(["", "-", ".", "-.5", "+1", "1e3", "--1", "1-", "1.2.3", " 7", "7 ", "nan"]),
    st.sampled_from(["123456789012345", "1234567890123456", "0.12345678901234567", "x" * 45]),
)


def block_of(rows: list[list[str]]) -> RowBlock:
    body = "".join(",".join(row) + "\n" for row in rows).encode()
    return RowBlock(body, np.arange(1, len(rows) + 1, dtype=np.int32))


def form_of(cells_in_row: int) -> RowForm:
    return RowForm(
        separator=",",
        quoted=False,
        fewest_cells=cells_in_row,
        most_cells=cells_in_row,
        heading_lines=frozenset(),
    )


def cut(rows: list[list[str]]) -> CutBlock:
    return all_of(block_of(rows), form_of(len(rows[0])))


def all_of(block: RowBlock, form: RowForm) -> CutBlock:
    found = cut_block(block, form)
    assert found is not None
    return found


@pytest.mark.long
@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=12))
def test_every_cell_is_cut_as_it_stands_and_every_number_is_the_nearest_float(
    rows: list[list[str]],
) -> None:
    found = cut(rows)
    numbers, oddities = found.numbers(range(3), ".")
    for index in range(3):
        written = [row[index] for row in rows]
        texts = [text.decode() for text in found.texts(index)]
        assert texts == [text[:40].strip() for text in written]
        values = numbers[index]
        odd = np.zeros(len(rows), dtype=bool) if oddities is None else oddities[index]
        for text, value, is_odd in zip(written, values.tolist(), odd.tolist(), strict=True):
            plain = text.removeprefix("-").replace(".", "", 1)
            if plain.isdigit() and len(plain) <= 15:
                assert not is_odd
                assert value == float(text)
                assert math.copysign(1.0, value) == math.copysign(1.0, float(text))
            else:
                assert math.isnan(value)
                assert is_odd == (text != "")


def test_some_rows_of_a_column_are_cut_alone() -> None:
    rows = [["10:00:01", "5"], ["10:00:02", "x"], ["10:00", "7"]]
    assert cut(rows).texts(0, np.array([False, True, True])).tolist() == [b"10:00:02", b"10:00"]


def test_a_decimal_comma_is_a_point() -> None:
    block = RowBlock(b"1,5;-2,25\n3;4\n", np.array([1, 2], dtype=np.int32))
    form = RowForm(
        separator=";", quoted=False, fewest_cells=2, most_cells=2, heading_lines=frozenset()
    )
    found = all_of(block, form)
    assert found.numbers([0, 1], ",")[0].tolist() == [[1.5, 3.0], [-2.25, 4.0]]


def test_a_long_row_that_hides_a_short_one_is_not_cut() -> None:
    for rows in ([["1", "2"], ["1", "2", "3"], ["1"]], [["1", "2", "3"], ["1"], ["1", "2"]]):
        assert cut_block(block_of(rows), form_of(2)) is None


ODD_LOG = (
    "time,ias (kt),note\n10:00:01,95.5,a\n10:00:02,,b\n10:00:03,---,c\n10:00:04,1e2,d\n"
    "10:00:05,+7,e\n10:00:06, 8,f\n10:00:07,oops,g\n" + "10:00:08,90.25,h\n" * 93
)


@pytest.mark.parametrize("share", [0.1, 0.01])
def test_both_ways_of_reading_tell_the_same(
    share: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(ODD_LOG)
    table = read_table(path)
    columns: dict[int, ColumnForm] = {
        1: NumberColumn("ias"),
        2: TextColumn("note", "no", lambda c: np.zeros(c.size)),
    }
    general = monkeypatch.context()
    with general as patch:
        patch.setattr(cells, "cut_block", lambda block, form: None)
        expected, told = read_columns(table, columns)
    monkeypatch.setattr(cells, "_ODD_SHARE", share)
    found, words = read_columns(table, columns)
    np.testing.assert_array_equal(found[1], expected[1])
    assert words == told
    assert "first 'oops' in line 8" in words[0]
    assert found[1][:7].tolist()[3:6] == [100.0, 7.0, 8.0]


def test_an_ordinary_small_log_is_read_without_the_general_reader(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(plain(fly(1, 600.0, 1.0)))
    code = (
        "import sys; from fleetcal.flightlog import read_recording; "
        f"print(read_recording({str(path)!r}).t_s.size, 'pandas' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    rows, general = done.stdout.split()
    assert int(rows) > 100
    assert general == "False"


def test_a_column_of_nothing_but_yes_and_no_holds_no_numbers(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,pump,flaps\n" + "10:00:01,true,0\n,,1\n10:00:03,False,1\n" * 40)
    table = read_table(path)
    with pytest.raises(DataError, match="line 2, column 'pump': 'true' is not a number"):
        read_columns(table, {1: NumberColumn("pump")})
    found, words = read_columns(table, {2: NumberColumn("flaps")})
    assert (found[2][:3].tolist(), words) == ([0.0, 1.0, 1.0], [])
