"""Served pages in a real browser: rules of accessibility, keys, narrow screens, complaints.

One page of each kind, two with ``--every-page``, which also looks at both widths in both schemes.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import ActionChains, Chrome, Keys

import fleetcal
from tests.publish.accessibility import FINDINGS, axe_script
from tests.publish.site_store import make_store, run
from tests.web.driven import complaints, driven, open_pages, show, until
from tests.web.pages_found import pages_found
from tests.web.serving import Server, start

pytestmark = pytest.mark.long

FLIGHTS = Path(fleetcal.__file__).parents[1] / "seed_demo" / "first-hours"
LINK_TO_NOWHERE = "groups/none.html"
#: What reaches beyond the right-hand edge, but for what scrolls in a region that keys reach.
OVERFLOW = """
const wide = document.documentElement.clientWidth;
const scrolls = e => e !== null && ((e.tabIndex === 0 &&
  ["auto", "scroll"].includes(getComputedStyle(e).overflowX)) || scrolls(e.parentElement));
const found = [...document.querySelectorAll("body *")].filter(e => {
  const box = e.getBoundingClientRect();
  return e.checkVisibility() && box.right > wide + 1 && !e.closest(".skip, .unseen, svg") &&
    !scrolls(e.parentElement);
}).map(e => e.outerHTML.slice(0, 160));
if (document.documentElement.scrollWidth > wide) { found.push("the page"); }
return found;
"""
#: Everything that can be pressed or written in and is shown, and how it looks without the focus.
CONTROLS = """
document.activeElement.blur();
window.scrollTo(0, 0);
const all = [...document.querySelectorAll("a[href], button, input, select, textarea, summary, " +
  "[tabindex='0'], [role=slider], [role=checkbox]")];
window.look = e => JSON.stringify([e, ...e.querySelectorAll("*")].map(one => {
  const style = getComputedStyle(one);
  return [style.outlineStyle, style.outlineWidth, style.boxShadow, style.borderColor,
    style.stroke, style.strokeWidth]; }));
window.controls = all.filter(e => !e.disabled && e.type !== "hidden" && e.checkVisibility(
  {visibilityProperty: true}) && !(e.type === "radio" && !e.checked));
window.looks = window.controls.map(look);
return window.controls.length;
"""
#: Place of what has the focus, whether it looks other than without, whether it is there, and what.
FOCUSED = """
const e = document.activeElement, place = window.controls.indexOf(e);
const box = e.getBoundingClientRect();
return [place, look(e) !== window.looks[place],
  box.width > 0 && box.height > 0 && box.right > 0 && box.bottom > 0, e.outerHTML.slice(0, 160)];
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with driven() as opened:
        yield opened


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    return axe_script(tmp_path_factory)


@pytest.fixture(scope="module")
def server(browser: Chrome, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    store = make_store(tmp_path_factory.mktemp("store"), hostile=False)
    run(store, "fleet", "airframe", "C-02", "--stall-kt", 44)  # so that flights can be planned
    opened = start(store, tmp_path_factory.mktemp("private"))
    open_pages(browser, opened, opened.link)
    cookie = browser.get_cookie(f"fleetcal-{opened.port}")
    assert cookie is not None
    opened.cookie = f"{cookie['name']}={cookie['value']}"
    yield opened
    opened.end()


@pytest.fixture(scope="module")
def paths(server: Server, request: pytest.FixtureRequest) -> list[str]:
    """A page of every kind, also of flights at hand and of columns that are not understood."""
    logs = [(name, (FLIGHTS / name).read_bytes()) for name in ("flight-1.csv", "flight-2.csv")]
    assert server.drop(logs[0]).status == 303
    assert server.drop(*logs).status == 303
    strange = b"a,b,c\n" + b"1,2,3\n" * 50
    server.drop(("strange.csv", strange))
    more: tuple[str, ...] = (
        "flight/1/",
        "flight/1/columns",
        "flight/several/2/",
        "flight/3/columns",
        "end",
    )
    more = (*more, "plan?airframe=C-02&points=4&altitude_ft=4000")
    each = 2 if request.config.getoption("--every-page") else 1
    found = pages_found(server, *more, LINK_TO_NOWHERE, each=each, every_format=False)
    assert {path for path, answer in found.items() if answer.status != 200} <= {
        LINK_TO_NOWHERE,
        "flight/3/columns",
    }
    assert {"index.html", "flight/", "history", "plan", *more[:3]} <= set(found)
    assert len(found) > 25
    assert any(path.startswith("plan/card?") for path in found)
    return list(found)


def opened(browser: Chrome, server: Server, path: str) -> None:
    browser.get(server.origin + server.root + path)
    complaint = [one for one in complaints(browser) if LINK_TO_NOWHERE not in one]
    assert [one for one in complaint if "columns" not in one] == [], path


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_finding_of_the_accessibility_rules(
    server: Server,
    paths: list[str],
    browser: Chrome,
    axe: str,
    scheme: str,
    request: pytest.FixtureRequest,
) -> None:
    found = {}
    # colours hang on the scheme, what goes below what on the width
    widths = (1400, 360) if scheme == "light" else (360, 1400)
    for width in widths if request.config.getoption("--every-page") else widths[:1]:
        show(browser, width, scheme=scheme)
        for path in paths:
            opened(browser, server, path)
            browser.execute_script(axe)
            findings = json.loads(browser.execute_script(f"return {FINDINGS}"))
            bad = [one for one in findings if one[0] != "minor"]
            if bad:
                found[path, width] = bad
    assert found == {}


def test_nothing_reaches_beyond_a_narrow_screen(
    server: Server, paths: list[str], browser: Chrome
) -> None:
    found = {}
    for path in paths:
        opened(browser, server, path)
        for width in (360, 768):
            show(browser, width)
            if wide := browser.execute_script(OVERFLOW):
                found[path, width] = wide
    assert found == {}


def test_every_control_is_reached_by_the_keyboard_and_shows_it(
    server: Server, paths: list[str], browser: Chrome
) -> None:
    show(browser, 1400)
    missed, unseen = {}, {}
    for path in paths:
        opened(browser, server, path)
        count = browser.execute_script(CONTROLS)
        reached, dim, steps = set[int](), [], 0
        while len(reached) < count and steps < 3 * count + 20:
            steps += 1
            ActionChains(browser, duration=0).send_keys(Keys.TAB).perform()
            place, shown, there, words = browser.execute_script(FOCUSED)
            if place >= 0 and place not in reached:
                reached.add(place)
                if not (shown and there):
                    dim.append(words)
        if len(reached) < count:
            missed[path] = browser.execute_script(
                "return window.controls.filter((_, n) => !arguments[0].includes(n))"
                ".map(e => e.outerHTML.slice(0, 160))",
                sorted(reached),
            )
        if dim:
            unseen[path] = dim
    assert missed == {}
    assert unseen == {}


def test_the_content_is_one_key_away(server: Server, browser: Chrome) -> None:
    show(browser, 1400)
    opened(browser, server, "index.html")
    ActionChains(browser).send_keys(Keys.TAB, Keys.ENTER).perform()
    until(browser, lambda: browser.current_url.endswith("#content"))
