"""Paper: words by their true widths, headings on every page, letters that the font has."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from fleetcal.publish.paper import BOLD, PAPERS, Paper
from fleetcal.publish.paper_table import PaperTable

NARROW = "illicit little lilies " * 9
WIDE = "WWW MMMM @@@ WMWM " * 9


@pytest.fixture
def paper() -> Iterator[Paper]:
    made = Paper("a title", PAPERS["a4"], 40.0)
    yield made
    made.content()  # closes the files of its fonts


@pytest.mark.parametrize("text", [NARROW, WIDE, "W" * 300])
def test_no_line_is_wider_than_the_room_and_each_is_filled(paper: Paper, text: str) -> None:
    lines = paper.lines(text, 9.0, 200.0, BOLD, most=40)
    widths = [paper.width_of(line, 9.0, BOLD) for line in lines]
    assert max(widths) <= 200.0
    assert min(widths[:-1]) > 120.0
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_what_is_too_long_is_cut_with_an_ellipsis_and_still_fits(paper: Paper) -> None:
    lines = paper.lines(WIDE, 9.0, 100.0, most=2)
    assert len(lines) == 2
    assert lines[-1].endswith(" …")
    assert paper.width_of(lines[-1], 9.0) <= 100.0
    assert paper.fitted("short", 9.0, 100.0) == "short"


def test_a_letter_that_the_font_lacks_is_a_replacement_sign(paper: Paper) -> None:
    assert paper.drawable("a\u6f22b\u202e\nc") == "a\ufffdb c"


def test_headings_stand_again_on_every_page_and_no_column_meets_the_next(
    paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[tuple[int, str]] = []
    put = Paper.put

    def also_kept(made: Paper, text: str, *rest: float, **how: bool) -> None:
        written.append((made.pdf.page, text))
        put(made, text, *rest, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(Paper, "put", also_kept)
    rows = [[f"{number}", "a longer cell", "+0.1"] for number in range(120)]
    table = PaperTable(
        paper=paper,
        headings=[("IAS", "kt"), ("Words", "of some length"), ("Add", "ft")],
        rows=rows,
        row=14.0,
        letters=9.0,
        heading=8.0,
        below=7.0,
        foot=20.0,
        again=lambda: None,
    )
    table.begin()
    for row in rows:
        table.write(row)
    pages = range(1, paper.pdf.pages_count + 1)
    assert len(pages) == 3
    assert [page for page, words in written if words == "of some length"] == [*pages]
    assert [words for _, words in written if words.isdigit()] == [row[0] for row in rows]
    columns = [*zip(*rows, strict=True)]
    for before, after, cells in zip(table.ends, table.ends[1:], columns[1:], strict=False):
        widest = max(paper.width_of(words, 9.0, BOLD) for words in cells)
        assert after - before > widest
    assert table.ends[-1] == pytest.approx(paper.right)
