"""PDF and card, read back by another program: Debian's package poppler-utils must be installed."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from fleetcal.publish.cautions import CAUTIONS, SHORT_CAUTION
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_card import table_card
from fleetcal.publish.table_lines import table_lines
from fleetcal.publish.table_pdf import table_pdf
from tests.publish.invented_table import invented_table

pytestmark = pytest.mark.long


def words_of(pdf: bytes, folder: Path) -> str:
    """Text of a PDF as a reader of Debian's finds it."""
    path = folder / "a.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, check=True)
    return done.stdout.decode("utf-8")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pdf_and_card_carry_every_line_and_the_caution(paper: str, tmp_path: Path) -> None:
    table = invented_table()
    whole, card = (words_of(made(table, paper), tmp_path) for made in (table_pdf, table_card))
    for line in table_lines(table):
        if line.answer is None:
            assert line.note in whole
            continue
        for words in (whole, card):
            found = re.search(
                rf"^\s*{line.given:.0f}\s.*\b{line.answer:.1f}\s", words, re.MULTILINE
            )
            assert found, line
    assert CAUTIONS[0] in whole
    assert SHORT_CAUTION.split(";")[0] in card
    size = subprocess.run(["pdfinfo", tmp_path / "a.pdf"], capture_output=True, check=True).stdout
    assert b"Pages:           1" in size


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("count", range(1, 26))
def test_the_card_stays_on_one_page_up_to_twenty_five_lines(
    paper: str, count: int, tmp_path: Path
) -> None:
    table = invented_table(rows=invented_table().curve[:count])
    words = words_of(table_card(table, paper), tmp_path)
    assert "card 1 of" not in words
    assert len(re.findall(r"^\s*\d+\s+\d+\.\d\s", words, re.MULTILINE)) == count


def test_a_long_table_goes_on_over_the_next_page_and_loses_no_line(tmp_path: Path) -> None:
    table = invented_table(rows=invented_table().curve)
    words = words_of(table_pdf(table), tmp_path)
    for line in table_lines(table):
        assert re.search(rf"^\s*{line.given:.0f}\s+\S+\s+{line.answer:.1f}\s", words, re.MULTILINE)
    card = words_of(table_card(table), tmp_path)
    for line in table_lines(table):
        assert re.search(rf"^\s*{line.given:.0f}\s+{line.answer:.1f}\s", card, re.MULTILINE)


@pytest.mark.parametrize("made", [table_pdf, table_card])
def test_a_withdrawn_issue_says_so_on_paper(
    made: Callable[[PooledTable], bytes], tmp_path: Path
) -> None:
    mark = IssueMark(
        number=3,
        issued_on=date(2024, 5, 1),
        inputs_sha256="f" * 64,
        why="",
        withdrawn="a sortie was wrong",
        withdrawn_on=date(2024, 6, 2),
    )
    words = words_of(made(invented_table(issue=mark)), tmp_path)
    assert "a sortie was wrong" in words
    assert "WITHDRAWN" in words


@pytest.mark.parametrize("made", [table_pdf, table_card])
def test_hostile_names_neither_break_the_paper_nor_turn_its_figures(
    made: Callable[[PooledTable], bytes], tmp_path: Path
) -> None:
    hostile = "$x^2$ \\frac{1} \u202e\x1b[31m<b>\u6f22\U0001f6e9 " + "long " * 200
    table = invented_table(
        type_name=hostile, static_source=hostile, engine=hostile, left_out=(hostile,) * 9
    )
    words = words_of(made(table), tmp_path)
    assert "$x^2$" in words
    assert "\u202e" not in words
    assert "\ufffd" in words
    assert re.search(r"^\s*130\s+.*129.6", words, re.MULTILINE)
