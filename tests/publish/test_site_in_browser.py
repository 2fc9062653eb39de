"""The site of the demonstration and a hostile one, opened in headless Chromium from their folders.

Two pages of each kind are looked at, with ``--every-page`` all of them.

Needs Debian's packages chromium and poppler-utils, and npm for the accessibility
rules (axe-core from the npm registry, fetched into a scratch folder). Where one
is missing the tests fail: a check that was not made must not look like one.
"""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.wording import decimal
from tests.publish.accessibility import FINDINGS, axe_script
from tests.publish.browser import Tab, browser
from tests.publish.site_store import make_store, run
from tests.seed_demo.demonstration import demonstration

pytestmark = pytest.mark.long

WIDTHS = (360, 768, 1400)
SERIOUS = ("moderate", "serious", "critical")
DAY = ("--date", "2024-05-06")
PAPERS = {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}
# What reaches beyond the right-hand edge, in boxes that scroll by themselves too.
# A table of names without blanks may scroll in its own labelled, focusable region.
OVERFLOW = """
(function (strict) {
  var wide = document.documentElement.clientWidth, found = [];
  document.querySelectorAll("body *").forEach(function (element) {
    var box = element.getBoundingClientRect();
    if (!strict && element.closest(".across")) { return; }
    if (box.width > 0 && box.right > wide + 1 && !element.closest(".skip")) {
      found.push(element.tagName + " " + element.className + " " + box.right);
    }
    if (element.className === "across" && element.scrollWidth > element.clientWidth + 1) {
      found.push("scrolls: " + element.getAttribute("aria-labelledby"));
    }
  });
  if (document.documentElement.scrollWidth > wide) { found.push("the page"); }
  return found;
})(%s)
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of the whole demonstration."""
    return demonstration(tmp_path_factory).folder / "site"


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site whose names would do harm."""
    folder = tmp_path_factory.mktemp("hostile")
    run(make_store(folder, hostile=True), "publish", "--site", "--out", folder / "site", *DAY)
    return folder / "site"


@pytest.fixture(scope="module")
def tab() -> Iterator[Tab]:
    with browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Script of the accessibility rules, fetched by npm."""
    return axe_script(tmp_path_factory)


def pages(site: Path, request: pytest.FixtureRequest) -> list[Path]:
    """Pages of the site, and of the tables and issues beside it: all if that is asked for."""
    if not request.config.getoption("--every-page"):
        return kinds(site)
    found = sorted(path for path in site.parent.rglob("*.html"))
    assert len(found) > 10
    return found


def kinds(site: Path, each: int = 2) -> list[Path]:
    """The overview, a page or two of each kind, and a table or two that are not of the site."""
    chosen = [site / "index.html"]
    for kind in ("groups", "airframes", "sorties", "climbs"):
        if (site / kind).is_dir():
            chosen += sorted((site / kind).iterdir())[:each]
    beside = sorted(set(site.parent.rglob("*.html")) - set(site.rglob("*.html")))
    assert beside
    return [*chosen, *(beside[0], beside[-1])[:each]]


@pytest.mark.parametrize("which", ["demo", "hostile"])
def test_every_page_opens_quietly_and_asks_the_network_for_nothing(
    which: str, request: pytest.FixtureRequest, tab: Tab
) -> None:
    site: Path = request.getfixturevalue(which)
    tab.show(1400)
    for page in pages(site, request):
        tab.open(page)
        assert tab.complaints() == [], page
        assert tab.requests()[0] == page.resolve().as_uri(), page
        look = (site / "look").resolve().as_uri()
        assert all(other.startswith(f"{look}/") for other in tab.requests()[1:]), page


def test_the_check_of_requests_and_complaints_can_fail(tab: Tab, tmp_path: Path) -> None:
    page = tmp_path / "bad.html"
    page.write_text("<img src='missing.png'><script>console.log(1); oops()</script>")
    tab.open(page)
    assert len(tab.requests()) == 2
    assert len(tab.complaints()) >= 2


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("which", ["demo", "hostile"])
def test_nothing_overflows(
    which: str, width: int, request: pytest.FixtureRequest, tab: Tab
) -> None:
    site: Path = request.getfixturevalue(which)
    tab.show(width)
    for page in pages(site, request) if which == "demo" else kinds(site):
        tab.open(page)
        strict = "true" if which == "demo" else "false"
        assert tab.run(OVERFLOW % strict) == [], (page, width)


def test_the_read_out_under_the_pointer_gives_the_value_of_the_table(demo: Path, tab: Tab) -> None:
    for width in (1400, 360):
        tab.show(width)
        for page in sorted((demo / "groups").iterdir()):
            tab.open(page)
            rows = tab.run(
                """Array.from(document.querySelectorAll("#corrections ~ .across tbody tr"))
                .filter(r => r.querySelector(".correction"))
                .map(r => [r.cells[0].textContent, r.cells[1].textContent,
                           r.cells[r.cells.length - 3].textContent.replace(/\\s+/g, " ")])"""
            )
            assert len(rows) > 8
            for ias, correction, following in rows[:: len(rows) - 1]:
                place = tab.run(
                    f"""(function () {{
                    var s = Array.from(document.querySelectorAll("figure[data-curve] svg"))
                      .find(s => s.getBoundingClientRect().width > 0);
                    s.scrollIntoView();
                    var b = s.getBoundingClientRect(), d = s.dataset;
                    var x = +d.left + ({ias} - d.first) / (d.last - d.first) * (d.right - d.left);
                    return [b.left + x / s.viewBox.baseVal.width * b.width, b.top + 60];
                    }})()"""
                )
                tab.call("Input.dispatchMouseEvent", type="mouseMoved", x=place[0], y=place[1])
                told = tab.run("document.querySelector('.read-out output').textContent")
                cas = decimal(float(ias) + float(correction.replace("\u2212", "-")))
                assert told.startswith(
                    f"{ias} kt indicated is {cas} calibrated: add {correction} kt."
                ), (page, told)
                assert f"another aircraft of the group: {following}." in told


def test_the_read_out_is_reached_and_moved_by_the_keyboard(demo: Path, tab: Tab) -> None:
    tab.show(1400)
    tab.open(sorted((demo / "groups").iterdir())[0])
    tab.run("document.querySelector('.read-out input').focus()")
    before = tab.run("document.querySelector('.read-out output').textContent")
    for kind in ("keyDown", "keyUp"):
        tab.call("Input.dispatchKeyEvent", type=kind, key="ArrowRight", windowsVirtualKeyCode=39)
    after = tab.run("document.querySelector('.read-out output').textContent")
    speeds = [int(re.findall(r"(\d+) kt indicated", text)[0]) for text in (before, after)]
    assert speeds[1] == speeds[0] + 1


def test_sorting_sorts_both_ways_and_says_so(demo: Path, tab: Tab) -> None:
    tab.show(1400)
    tab.open(demo / "index.html")
    column = """Array.from(document.querySelectorAll("#airframes ~ .across tbody tr"))
        .map(r => r.cells[%d].textContent)"""
    heading = 'document.querySelectorAll("#airframes ~ .across thead th")[%d]'
    for place, key in ((5, float), (0, str)):
        tab.run(f"{heading % place}.querySelector('button').click()")
        rising = tab.run(column % place)
        assert rising == sorted(rising, key=key)
        assert tab.run(f"{heading % place}.getAttribute('aria-sort')") == "ascending"
        tab.run(f"{heading % place}.querySelector('button').click()")
        falling = tab.run(column % place)
        assert falling == sorted(rising, key=key, reverse=True)
        assert tab.run(f"{heading % place}.getAttribute('aria-sort')") == "descending"
    assert len(set(rising)) == 26


def test_all_is_readable_without_the_script(demo: Path, tab: Tab) -> None:
    page = sorted((demo / "groups").iterdir())[0]
    shown = {}
    for off in (False, True):
        tab.call("Emulation.setScriptExecutionDisabled", value=off)
        tab.open(page)
        root = tab.call("DOM.getDocument")["root"]["nodeId"]
        shown[off] = tab.call("DOM.getOuterHTML", nodeId=root)["outerHTML"]
    tab.call("Emulation.setScriptExecutionDisabled", value=False)
    for name, count in (("<output", 4), ("<button", 19)):
        assert shown[False].count(name) == count  # the script did run
        assert shown[True].count(name) == 0
    for name in ("<td", "<svg", "Who stands where", "<h2"):
        assert shown[True].count(name) == shown[False].count(name)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_printed_page_holds_its_whole_tables(
    paper: str, demo: Path, tab: Tab, tmp_path: Path
) -> None:
    tab.show(768)
    for page in kinds(demo):
        tab.open(page)
        rows = tab.run(
            """Array.from(document.querySelectorAll("tbody tr")).map(r =>
            Array.from(r.cells).map(c => c.innerText.trim()))"""
        )
        path = tmp_path / "page.pdf"
        path.write_bytes(tab.printed(*PAPERS[paper]))
        done = subprocess.run(
            ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
        )
        printed = re.sub(r"[-/\s]+", "", done.stdout)
        for row in rows:
            for cell in row:
                for word in cell.split():
                    assert re.sub(r"[-/]", "", word)[:8] in printed, (page, row)
        lines = [re.sub(r"\s+", "", line) for line in done.stdout.splitlines()]
        for row in rows:
            if re.fullmatch(r"[\d.]+", row[0]) and len(row) > 2:
                assert re.sub(r"\s+", "", "".join(row)) in lines, (page, row)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_accessibility_finding(
    scheme: str, demo: Path, hostile: Path, tab: Tab, axe: str, request: pytest.FixtureRequest
) -> None:
    every = request.config.getoption("--every-page")
    # colours hang on the scheme, what goes below what on the width
    widths = (1400, 360) if scheme == "light" else (360, 1400)
    for width in widths if every else widths[:1]:
        tab.show(width, scheme=scheme)
        for page in [*kinds(demo, 1 + every), *kinds(hostile, 1 + every)]:
            tab.open(page)
            tab.run(axe + "; 0")
            found = json.loads(tab.run(FINDINGS))
            assert [v for v in found if v[0] in SERIOUS] == [], (page, width)


def test_the_accessibility_check_can_fail(tab: Tab, axe: str, tmp_path: Path) -> None:
    page = tmp_path / "bad.html"
    page.write_text("<html><body><img src='x'><p style='color:#ccc;background:#fff'>faint</p>")
    tab.show(1400)
    tab.open(page)
    tab.run(axe + "; 0")
    names = tab.run("axe.run(document).then(r => r.violations.map(v => v.id))")
    assert {"image-alt", "color-contrast", "html-has-lang"} <= set(names)
