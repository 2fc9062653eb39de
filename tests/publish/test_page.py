from __future__ import annotations

import dataclasses
import html
import re
from html.parser import HTMLParser

import pytest

from fleetcal.publish.cautions import CAUTIONS, PITOT_ASSUMPTION
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.page import table_html
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.pooled_table import PooledTable
from tests.publish.invented_table import empty_row, filled_row, invented_table

VOID = {"meta", "br", "link", "img", "hr"}


class Outline(HTMLParser):
    """Collects elements and refuses tags that are closed out of order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "script"} & set(self.open):
            self.words.append(data)


def page_of(table: PooledTable) -> str:
    return table_html(
        table, correction_figure_svg(table), correction_figure_svg(table, narrow=True)
    )


def outline_of(page: str) -> Outline:
    outline = Outline()
    outline.feed(page)
    outline.close()
    assert outline.open == []
    return outline


def words_of(page: str) -> str:
    return " ".join(" ".join(outline_of(page).words).replace("\u00ad", "").split())


def test_the_page_is_whole_and_every_name_on_it_is_used_once() -> None:
    outline = outline_of(page_of(invented_table()))
    ids = [given["id"] for _, given in outline.seen if "id" in given]
    assert len(ids) == len(set(ids))
    for _, given in outline.seen:
        for wanted in (given.get("aria-labelledby") or "").split():
            assert wanted in ids
    tags = [tag for tag, _ in outline.seen]
    assert tags.count("h1") == tags.count("main") == tags.count("table") == 1
    assert ("html", {"lang": "en"}) in outline.seen


@pytest.mark.long
def test_the_table_has_a_caption_and_scoped_headings_and_full_rows() -> None:
    table = invented_table()
    outline = outline_of(page_of(table))
    headings = [given.get("scope") for tag, given in outline.seen if tag == "th"]
    assert headings.count("col") == 7
    assert headings.count("row") == len(table.rows)
    assert None not in headings
    assert any(tag == "caption" for tag, _ in outline.seen)
    body = re.search(r"<tbody>(.*)</tbody>", page_of(table), re.DOTALL)
    assert body is not None
    for row in re.findall(r"<tr>.*?</tr>", body[1]):
        spans = sum(int(span) - 1 for span in re.findall(r'colspan="(\d+)"', row))
        assert len(re.findall(r"<t[hd]", row)) + spans == 7


@pytest.mark.long
def test_the_page_loads_nothing_from_outside() -> None:
    page = page_of(invented_table())
    for tag, given in outline_of(page).seen:
        assert tag not in {"script", "img", "iframe", "object", "base"}
        if tag == "link":  # the mark, which is drawn in its own address
            assert given["rel"] == "icon"
            assert (given["href"] or "").startswith("data:image/svg+xml,%3Csvg")
            continue
        for name, value in given.items():
            if name in {"href", "src", "xlink:href", "action", "srcset"}:
                assert (value or "").startswith("#")
    assert "@import" not in page
    assert not re.search(r"url\((?!#)", page)


def test_every_caution_is_printed_once_and_before_the_first_number() -> None:
    page = page_of(invented_table())
    for sentence in CAUTIONS:
        assert page.count(html.escape(sentence)) == 1
        assert page.index(html.escape(sentence)) < page.index("<table>")
    assert html.escape(PITOT_ASSUMPTION) in page


def test_names_from_outside_cannot_bring_in_markup() -> None:
    evil = '"><script>alert(1)</script><img src=x onerror=y>&amp;'
    table = invented_table(
        type_name=evil,
        static_source=evil,
        engine=evil,
        propeller=evil,
        flap_setting=evil,
        altitude_statement=evil,
        model=evil,
        left_out=(evil,),
        program_version=evil,
        rows=(empty_row(50.0, evil), dataclasses.replace(filled_row(80.0), note=evil)),
    )
    page = page_of(table)
    tags = {tag for tag, _ in outline_of(page).seen}
    assert not tags & {"script", "img"}
    assert words_of(page).count("alert(1)") >= 10


def test_numbers_are_signed_rounded_alike_and_show_a_true_minus() -> None:
    words = words_of(page_of(invented_table()))
    assert "60 +2.7 62.7 +2.1 to +3.3 +0.9 to +4.5 +13 8" in words
    assert "130 −0.4 129.6 −1.0 to +0.2 −2.2 to +1.4 −4 8" in words
    assert "−0.0" not in words


def test_a_speed_without_data_shows_its_reason_in_place_of_numbers() -> None:
    assert "145 no aircraft was flown this fast" in words_of(page_of(invented_table()))


def test_speeds_that_are_not_whole_show_their_decimals() -> None:
    table = invented_table(rows=(filled_row(62.5), filled_row(70.0)))
    words = words_of(page_of(table))
    assert "62.5 +2.5" in words
    assert "70.0 +2.0" in words


def test_a_missing_altimeter_correction_and_a_note_are_said() -> None:
    row = dataclasses.replace(filled_row(80.0), altitude_correction_ft=None, note="few aircraft")
    words = words_of(page_of(invented_table(rows=(row,))))
    assert "not given" in words
    assert "few aircraft" in words


@pytest.mark.parametrize(("left_out", "words"), [((), "Nothing was left out."), (("x",), "x")])
def test_what_was_left_out_is_listed_or_denied(left_out: tuple[str, ...], words: str) -> None:
    page = words_of(page_of(invented_table(left_out=left_out)))
    assert page.endswith(f"What was left out {words}")


def test_the_drawing_follows_the_colours_of_the_page() -> None:
    page = page_of(invented_table())
    drawing = page[page.index("<svg") : page.rindex("</svg>")]
    assert "var(--mean-line)" in drawing
    assert not re.findall(r"#[0-9a-f]{6}\b", drawing), "a colour that dark screens cannot change"
    assert all(f"--{name}:" in page for name in LIGHT)


def test_without_a_narrow_drawing_the_wide_one_serves_all() -> None:
    table = invented_table()
    page = table_html(table, correction_figure_svg(table))
    assert page.count("<svg") == 1
    assert 'class="one-width"' in page


@pytest.mark.long
def test_the_same_table_gives_the_same_page() -> None:
    assert page_of(invented_table()) == page_of(invented_table())
