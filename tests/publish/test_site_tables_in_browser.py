"""Tables and the caution of the site in headless Chromium: sorted, filtered, in sight, printed."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.publish.cautions import CAUTION_LINE, CAUTIONS
from tests.publish.browser import Tab, browser
from tests.publish.site_store import make_store, run

pytestmark = pytest.mark.long

FINGER_PX = 40
SHOWN_TAGS = """Array.from(document.querySelectorAll("#airframes ~ .across tbody tr"))
    .filter(row => row.getBoundingClientRect().height > 0).map(row => row.cells[0].textContent)"""
TYPED = """(function () {
    const field = document.querySelector("#airframes ~ .filters input");
    field.value = %r;
    field.dispatchEvent(new Event("input"));
    return document.querySelector("#airframes ~ .filters output").textContent;
})()"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plain")
    store = make_store(folder, hostile=False)
    run(store, "publish", "--site", "--out", folder / "site", "--date", "2024-05-06")
    return folder / "site"


@pytest.fixture(scope="module")
def tab() -> Iterator[Tab]:
    with browser() as opened:
        yield opened


def test_rows_are_filtered_by_words_in_any_cell(site: Path, tab: Tab) -> None:
    tab.show(1400)
    tab.open(site / "index.html")
    every = tab.run(SHOWN_TAGS)
    assert len(every) == 8
    assert tab.run(TYPED % "c-08") == "1 of 8 shown"
    assert tab.run(SHOWN_TAGS) == ["C-08"]
    assert tab.run(TYPED % "TURBO wing") == "4 of 8 shown"
    assert tab.run(SHOWN_TAGS) == ["C-01", "C-02", "C-03", "C-04"]
    assert tab.run(TYPED % "outside") == "1 of 8 shown"
    assert tab.run(TYPED % "no such") == "0 of 8 shown"
    assert tab.run(SHOWN_TAGS) == []
    assert tab.run(TYPED % "") == ""
    assert tab.run(SHOWN_TAGS) == every
    assert tab.complaints() == []


@pytest.mark.parametrize("width", [360, 768, 1400])
def test_headings_are_large_enough_for_a_finger_and_sorting_moves_no_line(
    width: int, site: Path, tab: Tab
) -> None:
    tab.show(width)
    tab.open(site / "index.html")
    boxes = tab.run(
        """Array.from(document.querySelectorAll("thead button")).map(button => {
        const box = button.getBoundingClientRect(); return [box.width, box.height]; })"""
    )
    assert all(min(box) == 0.0 or min(box) >= FINGER_PX for box in boxes), boxes
    assert sum(min(box) >= FINGER_PX for box in boxes) > 4
    sizes = """Object.fromEntries(Array.from(
        document.querySelectorAll("#airframes ~ .across tr")).map(row => {
        const box = row.getBoundingClientRect();
        return [row.cells[0].textContent, [box.width, box.height]]; }))"""
    before = tab.run(sizes)
    for _ in range(2):
        tab.run("""document.querySelector("#airframes ~ .across thead button").click()""")
        after = tab.run(sizes)
        for tag, size in before.items():  # the line below the last row adds half a pixel
            assert after[tag] == pytest.approx(size, abs=1.0)


def test_headings_stay_in_sight_where_a_table_fits(site: Path, tab: Tab) -> None:
    tab.show(1400, 400)
    tab.open(site / "index.html")
    top = tab.run(
        """(function () {
        const rows = document.querySelectorAll("#airframes ~ .across tbody tr");
        rows[rows.length - 2].scrollIntoView();
        return document.querySelector("#airframes ~ .across thead th")
            .getBoundingClientRect().top; })()"""
    )
    assert top == pytest.approx(0.0, abs=1.0)


def test_the_caution_is_one_line_that_opens_and_is_printed_in_full(
    site: Path, tab: Tab, tmp_path: Path
) -> None:
    tab.show(360)
    tab.open(site / "index.html")
    seen = "document.querySelector('.cautions').innerText"
    height = "document.querySelector('.cautions').getBoundingClientRect().height"
    assert tab.run(seen).strip() == CAUTION_LINE
    assert tab.run(height) < 60
    (tmp_path / "page.pdf").write_bytes(tab.printed(8.27, 11.69))
    done = subprocess.run(
        ["pdftotext", tmp_path / "page.pdf", "-"], capture_output=True, text=True, check=True
    )
    printed = " ".join(done.stdout.split())
    assert all(sentence in printed for sentence in CAUTIONS)
    tab.run("document.querySelector('.cautions summary').click()")
    assert all(sentence in tab.run(seen) for sentence in CAUTIONS)


def test_the_answer_is_on_the_first_screen_of_a_telephone(site: Path, tab: Tab) -> None:
    tab.show(360, 640)
    lowest = """Math.max(...Array.from(document.querySelectorAll(%r),
        one => one.getBoundingClientRect().bottom))"""
    places = {site / "index.html": ".attention li, .facts li"}
    places |= dict.fromkeys((site / "groups").iterdir(), ".answers li")
    for page, answer in places.items():
        tab.open(page)
        assert 0 < tab.run(lowest % answer) <= 640, page


def test_bands_keep_both_ends_on_a_telephone(site: Path, tab: Tab) -> None:
    tab.show(360)
    tab.open(sorted((site / "groups").iterdir())[0])
    bands = tab.run(
        """Array.from(document.querySelectorAll("td.band"))
        .filter(cell => cell.textContent.trim() && !cell.querySelector(".none"))
        .map(cell => [cell.getBoundingClientRect().width, cell.innerText.replace(/\\s+/g, " ")])"""
    )
    assert len(bands) > 20
    assert all(width > 0 and " to " in words for width, words in bands)
