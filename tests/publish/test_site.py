"""The fleet site as files: whole, discreet, harmless and the same each time."""

from __future__ import annotations

import csv
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest

from fleetcal.publish.cautions import CAUTIONS, GROUP_CAUTION
from fleetcal.publish.site.chart import ticks
from fleetcal.services.publishing.discretion import Discretion
from tests.publish.site_store import (
    EVIL,
    LONG,
    PORT,
    REGISTRATION,
    RIGHT_TO_LEFT,
    make_store,
    run,
    run_apart,
)

pytestmark = pytest.mark.long

DAY = ("--date", "2024-05-06")
VOID = {"meta", "br", "input", "link"}


class Outline(HTMLParser):
    """Collects elements, links and ids, and refuses tags that are closed out of order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.wanted: list[str] = []
        self.handlers: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name in ("href", "src", "action", "srcset", "xlink:href"):
                self.links.append(value or "")
            if name == "id":
                self.ids.append(value or "")
            if name in ("aria-labelledby", "aria-describedby"):
                self.wanted += (value or "").split()
            if name.startswith("on"):
                self.handlers.append(name)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "script"} & set(self.open):
            self.words.append(data)


def outline(page: Path) -> Outline:
    found = Outline()
    found.feed(page.read_text(encoding="utf-8"))
    found.close()
    assert found.open == [], page
    return found


def words_of(page: Path) -> str:
    return " ".join(" ".join(outline(page).words).replace("\u00ad", "").split())


def content(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def stores(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("stores")
    made = {}
    for name in ("plain", "hostile"):
        (folder / name).mkdir()
        made[name] = make_store(folder / name, hostile=name == "hostile")
        run(made[name], "publish", "--site", "--out", folder / name / "site", *DAY)
    return made


@pytest.fixture(scope="module")
def site(stores: dict[str, Path]) -> Path:
    return stores["plain"].parent / "site"


@pytest.fixture(scope="module")
def hostile(stores: dict[str, Path]) -> Path:
    return stores["hostile"].parent / "site"


def test_there_is_a_page_for_the_fleet_each_group_airframe_and_sortie(site: Path) -> None:
    pages = {str(page.relative_to(site)) for page in site.rglob("*.html")}
    files = {
        str(file.relative_to(site))
        for name in ("tables", "look")
        for file in (site / name).iterdir()
    }
    assert pages | files == set((site / "pages.txt").read_text(encoding="utf-8").split())
    count = {
        name: len(list((site / name).iterdir())) for name in ("groups", "airframes", "sorties")
    }
    assert count == {"groups": 2, "airframes": 8, "sorties": 16}


@pytest.mark.parametrize("which", ["plain", "hostile"])
def test_every_link_leads_to_a_page_of_the_site_and_ids_are_unique(
    which: str, stores: dict[str, Path]
) -> None:
    folder = stores[which].parent / "site"
    for page in folder.rglob("*.html"):
        found = outline(page)
        assert len(found.ids) == len(set(found.ids)), page
        assert set(found.wanted) <= set(found.ids), page
        assert found.handlers == []
        assert found.tags.count("h1") == found.tags.count("main") == 1
        for link in found.links:
            if link.startswith("data:image/svg+xml,"):
                ET.fromstring(unquote(link.partition(",")[2]))
            elif link.startswith("#"):
                assert link[1:] in found.ids
            else:
                assert (page.parent / unquote(link)).resolve().is_file(), (page, link)
                assert folder.resolve() in (page.parent / unquote(link)).resolve().parents


def test_every_page_carries_every_caution_once(site: Path) -> None:
    for page in site.rglob("*.html"):
        words = words_of(page)
        own = "It describes C-" in words
        assert not own or page.parent.name == "airframes"
        for sentence in CAUTIONS:
            instead = own and sentence == GROUP_CAUTION
            assert words.count(sentence) == (0 if instead else 1), page


def test_public_pages_tell_tags_and_months_only(site: Path) -> None:
    for page in site.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        assert REGISTRATION not in text, page
        assert "ZZ-0" not in text
        words = words_of(page)
        days = set(re.findall(r"\d{4}-\d{2}-\d{2}", words))
        assert days <= {"2024-05-06"}, page  # the day the site was made
    assert "2023-03" in words_of(site / "airframes" / "C-01.html")
    assert "leak of C-01 on 2023-03" in words_of(site / "airframes" / "C-01.html")


def test_days_and_registrations_are_told_when_asked_for(
    stores: dict[str, Path], tmp_path: Path
) -> None:
    run(
        stores["plain"],
        "publish",
        "--site",
        "--out",
        tmp_path,
        "--with-days",
        "--with-registrations",
        *DAY,
    )
    words = words_of(tmp_path / "airframes" / "C-01.html")
    assert REGISTRATION in words
    assert "2023-03-07" in words


@pytest.mark.parametrize("which", ["plain", "hostile"])
def test_the_same_store_gives_the_same_site(
    which: str, stores: dict[str, Path], tmp_path: Path
) -> None:
    run_apart(stores[which], "publish", "--site", "--out", tmp_path, *DAY)
    assert content(tmp_path) == content(stores[which].parent / "site")


def test_pages_that_are_gone_are_taken_away_and_nothing_else(
    site: Path, stores: dict[str, Path], tmp_path: Path
) -> None:
    (tmp_path / "sorties").mkdir()
    (tmp_path / "sorties" / "99.html").write_text("old")
    (tmp_path / "sorties" / "mine.html").write_text("mine")
    (tmp_path / "note.txt").write_text("mine")
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "old.csv").write_text("old")
    (tmp_path / "pages.txt").write_text(
        "sorties/99.html\ntables/old.csv\n../note.txt\nnote.txt\nsorties/../x\n"
    )
    run(stores["plain"], "publish", "--site", "--out", tmp_path, *DAY)
    kept = {"sorties/mine.html": b"mine", "note.txt": b"mine"}
    assert content(tmp_path) == content(site) | kept


def test_the_read_out_holds_the_values_of_the_table(site: Path) -> None:
    (page, *_) = sorted((site / "groups").iterdir())
    text = page.read_text(encoding="utf-8")
    (curve,) = re.findall(r'data-curve="([^"]*)"', text)
    told = {row.split()[0]: row.split()[2] for row in curve.split(";")}
    rows = re.findall(r'<th scope="row">(\d+)</th><td class="correction">([^<]*)</td>', text)
    assert len(rows) > 8
    assert {ias: told[ias] for ias, _ in rows} == dict(rows)


def test_what_was_planted_is_shown(site: Path) -> None:
    assert "Outside: a shift that grows with speed" in words_of(site / "airframes" / "C-08.html")
    assert "Did a change of equipment change it?" in words_of(site / "airframes" / "C-01.html")
    group = words_of(sorted((site / "groups").iterdir())[0])
    for said in ("Handbook: first", "never exceed (a limit)", "design data", "issue 1 of 2024-05"):
        assert said in group


def test_hostile_names_come_out_as_plain_words_on_every_page(hostile: Path) -> None:
    shown = 0
    for page in hostile.rglob("*.html"):
        found = outline(page)
        assert "img" not in found.tags
        text = page.read_text(encoding="utf-8")
        assert "<img" not in text
        assert not re.search("[\u202a-\u202e\u2066-\u2069\u0000-\u0008\u000b-\u001f]", text)
        shown += words_of(page).count("<img src=x onerror=alert(1)>")
        for drawing in re.findall(r"<svg.*?</svg>", text, re.DOTALL):
            ET.fromstring(drawing)
    assert shown > 50
    index = words_of(hostile / "index.html")
    assert RIGHT_TO_LEFT in index
    assert LONG in index
    assert "\u202e" not in index
    assert len(EVIL) > 30


def test_hostile_names_do_no_harm_in_any_format_of_a_table(
    stores: dict[str, Path], tmp_path: Path
) -> None:
    run(stores["hostile"], "publish", PORT, "--out", tmp_path, *DAY)
    made = {path.suffix: path for path in tmp_path.iterdir()}
    assert set(made) == {".html", ".csv", ".json", ".md", ".svg", ".pdf"}
    with made[".csv"].open(encoding="utf-8", newline="") as stream:
        for row in csv.reader(stream):
            for cell in row:
                assert not re.match(r"\s*[=+@]", cell), cell
                assert not re.match(r"\s*-(?!\d)", cell), cell
    markdown = made[".md"].read_text(encoding="utf-8")
    assert "<img" not in markdown
    assert "[x](" not in markdown
    assert "img" not in outline(made[".html"]).tags
    ET.parse(made[".svg"])


def test_a_site_and_a_table_are_not_asked_for_at_once(stores: dict[str, Path]) -> None:
    for words in (("--site", "--out", "x", PORT), (), (PORT,), (PORT, "--out", "x", "--with-days")):
        with pytest.raises(AssertionError, match="Usage"):
            run(stores["plain"], "publish", *words)


@pytest.mark.parametrize(
    "words", [("--speed-unit", "mph"), ("--direction", "cas-to-ias"), ("--formats", "card")]
)
def test_what_the_site_does_not_go_by_is_refused_and_nothing_is_written(
    stores: dict[str, Path], tmp_path: Path, words: tuple[str, ...]
) -> None:
    with pytest.raises(AssertionError, match=f"for the table of a GROUP: {words[0]}"):
        run(stores["plain"], "publish", "--site", "--out", tmp_path / "site", *words)
    with pytest.raises(AssertionError, match="1200 kg"):
        run(stores["plain"], "publish", "--site", "--out", tmp_path / "site", "--weight-kg", "1200")
    assert not (tmp_path / "site").exists()


def test_the_site_s_tables_are_for_the_weight_that_is_asked_for(
    stores: dict[str, Path], site: Path, tmp_path: Path
) -> None:
    asked = ("--weight-kg", "520", "--step", "10", "--altitude-ft", "3000")
    run(stores["plain"], "publish", "--site", "--out", tmp_path, *asked, *DAY)
    for page in sorted((tmp_path / "groups").iterdir()):
        light, usual = (
            path.read_text(encoding="utf-8").replace("\u00a0", " ")
            for path in (page, site / "groups" / page.name)
        )
        for said in ("Weight 520 kg", "at 520 kg, kt", "(IAS at 520 kg)", "at 3000 ft"):
            assert said in light, said
            assert said not in usual
        assert light.count('<th scope="row">') < usual.count('<th scope="row">')


@pytest.mark.parametrize(
    ("low", "high", "most", "wanted"),
    [
        (-1.2, 5.1, 8, [-1, 0, 1, 2, 3, 4, 5]),
        (60, 141, 9, [60, 70, 80, 90, 100, 110, 120, 130, 140]),
    ],
)
def test_ticks_are_round(low: float, high: float, most: int, wanted: list[float]) -> None:
    assert ticks(low, high, most) == wanted


def test_a_registration_is_replaced_as_a_word_and_the_longer_one_first() -> None:
    say = Discretion({"ZZ-1": "C-01", "ZZ-12": "C-02"}).words
    assert say("ZZ-12, zz-1; ZZ-123 and XZZ-1 on 2021-05-14") == (
        "C-02, C-01; ZZ-123 and XZZ-1 on 2021-05"
    )
