"""Legs of a flight picked in a real browser: by pointer, finger, keys and numbers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
from selenium.webdriver import ActionChains, Chrome, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement

from tests.cli.invented_sortie import Truth, fly, log_text
from tests.publish.site_store import make_store
from tests.web.driven import WIDTHS, complaints, driven, open_pages, show, until
from tests.web.serving import Server, start

pytestmark = pytest.mark.long

HANDLES: Final = "#strips [role=slider]"


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with driven() as opened:
        yield opened


@pytest.fixture(scope="module")
def server(browser: Chrome, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("served")
    store = make_store(tmp_path_factory.mktemp("store"), hostile=False)
    opened = start(store, folder)
    open_pages(browser, opened, opened.link)
    yield opened
    opened.end()


@pytest.fixture
def page(browser: Chrome, server: Server, tmp_path: Path) -> Chrome:
    """The page of a flight that was just dropped, on a desk."""
    log = tmp_path / "flight.csv"
    log.write_text(log_text(fly(truth=Truth(kappa=0.05, roughness=1.0))), encoding="utf-8")
    show(browser, 1400)
    browser.get(f"{server.origin}{server.root}flight/")
    browser.find_element(By.ID, "logs").send_keys(str(log))
    until(browser, lambda: browser.find_elements(By.CSS_SELECTOR, HANDLES))
    complaints(browser)
    return browser


def handle(page: Chrome, leg: int, edge: str) -> WebElement:
    found = page.find_elements(By.CSS_SELECTOR, f"#strips [data-edge={edge}]")
    return found[leg]


def now(element: WebElement) -> float:
    return float(element.get_attribute("aria-valuenow") or "nan")


def answer(page: Chrome) -> str:
    return page.find_element(By.ID, "numbers").text


def settled(page: Chrome, before: str) -> str:
    """Wait until the answer is another and nothing is on its way, and return it."""
    until(page, lambda: answer(page) != before)
    until(page, lambda: page.find_element(By.ID, "sentences").get_attribute("aria-busy") is None)
    return answer(page)


def press(page: Chrome, act: str) -> None:
    page.find_element(By.CSS_SELECTOR, f"[data-legs-act={act}]").click()


def names(page: Chrome) -> list[str]:
    return [
        str(one.get_attribute("aria-label"))
        for one in page.find_elements(By.CSS_SELECTOR, "#strips [role=checkbox]")
    ]


def test_an_edge_is_dragged_by_pointer_and_the_answer_follows(page: Chrome) -> None:
    before, edge = answer(page), handle(page, 0, "stop")
    start = now(edge)
    grip = edge.find_element(By.TAG_NAME, "rect")
    page.execute_script("arguments[0].scrollIntoView({block: 'center'})", grip)
    ActionChains(page).move_to_element(grip).click_and_hold().move_by_offset(-8, 0).move_by_offset(
        -8, 30
    ).release().perform()
    after = settled(page, before)
    assert now(edge) < start - 5.0
    press(page, "undo")
    assert settled(page, after) == before
    assert now(edge) == start
    press(page, "redo")
    assert settled(page, before) == after
    press(page, "reset")
    assert settled(page, after) == before
    assert complaints(page) == []


def test_an_edge_is_dragged_by_finger(page: Chrome) -> None:
    before, edge = answer(page), handle(page, 1, "start")
    start = now(edge)
    box = page.execute_script(
        "arguments[0].scrollIntoView({block: 'center'});"
        "const b = arguments[0].querySelector('rect').getBoundingClientRect();"
        "return [b.x + b.width / 2, b.y + b.height / 2]",
        edge,
    )
    x, y = box
    page.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True})

    def touch(kind: str, *points: tuple[float, float]) -> None:
        page.execute_cdp_cmd(
            "Input.dispatchTouchEvent",
            {"type": kind, "touchPoints": [{"x": a, "y": b} for a, b in points]},
        )

    touch("touchStart", (x, y))
    for step in (4, 8, 12, 16):
        touch("touchMove", (x + step, y))
    touch("touchEnd")
    settled(page, before)
    assert now(edge) > start + 5.0
    page.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})


def test_an_edge_is_nudged_by_keys_and_says_where_it_is(page: Chrome) -> None:
    before, edge = answer(page), handle(page, 2, "stop")
    start = now(edge)
    page.execute_script("arguments[0].focus()", edge)
    keys = ActionChains(page)
    keys.send_keys(Keys.ARROW_LEFT).send_keys(Keys.ARROW_LEFT)
    keys.key_down(Keys.SHIFT).send_keys(Keys.ARROW_LEFT).key_up(Keys.SHIFT).perform()
    settled(page, before)
    assert now(edge) == start - 12.0
    minutes, seconds = divmod(round(start - 12.0), 60)
    assert edge.get_attribute("aria-valuetext") == f"{minutes}:{seconds:02d}, {start - 12:.0f} s"
    assert str(edge.get_attribute("aria-label")).startswith("Stop of leg 3 of run 1, ")
    focused = page.switch_to.active_element
    assert focused == edge
    ActionChains(page).key_down(Keys.CONTROL).send_keys("z").key_up(Keys.CONTROL).perform()
    until(page, lambda: now(edge) == start)  # presses that follow one another are one step


def test_a_leg_is_left_out_and_put_back_by_click_and_by_key(page: Chrome) -> None:
    before = answer(page)
    name = page.find_elements(By.CSS_SELECTOR, "#strips [role=checkbox]")[1]
    name.click()
    without = settled(page, before)
    assert name.get_attribute("aria-checked") == "false"
    page.execute_script("arguments[0].focus()", name)
    ActionChains(page).send_keys(Keys.DELETE).perform()
    assert settled(page, without) == before
    assert name.get_attribute("aria-checked") == "true"


def test_a_leg_is_added_over_an_empty_stretch(page: Chrome) -> None:
    before = len(names(page))
    press_at = page.execute_script(
        "const s = document.querySelector('svg.strips'); s.scrollIntoView({block: 'center'});"
        "const b = s.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]"
    )
    x, y, width, height = press_at
    drag = ActionChains(page)
    drag.w3c_actions.pointer_action.move_to_location(int(x + 2), int(y + height / 2))
    drag.w3c_actions.pointer_action.pointer_down()
    drag.w3c_actions.pointer_action.move_to_location(int(x + 12), int(y + height / 2))
    drag.w3c_actions.pointer_action.move_to_location(int(x + 0.03 * width), int(y + height / 2))
    drag.w3c_actions.pointer_action.pointer_up()
    drag.perform()
    until(page, lambda: len(names(page)) == before + 1)
    press(page, "reset")
    until(page, lambda: len(names(page)) == before)


def field(page: Chrome, row: int, name: str) -> WebElement:
    rows = page.find_elements(By.CSS_SELECTOR, "#legs-body tr")
    return rows[row].find_element(By.CSS_SELECTOR, f"[data-field={name}]")


def test_the_table_does_all_that_the_strips_do(page: Chrome) -> None:
    page.find_element(By.CSS_SELECTOR, ".leg-table summary").click()
    before = answer(page)
    stop = field(page, 0, "stop")
    value = float(str(stop.get_attribute("value")))
    stop.send_keys(Keys.CONTROL, "a", Keys.NULL, str(value - 15.0), Keys.TAB)
    moved = settled(page, before)
    assert now(handle(page, 0, "stop")) == value - 15.0
    field(page, 4, "use").click()
    without = settled(page, moved)
    run = field(page, 3, "run")
    run.send_keys(Keys.CONTROL, "a", Keys.NULL, "9", Keys.TAB)
    settled(page, without)
    assert any("of run 9," in name for name in names(page))
    press(page, "reset")
    until(page, lambda: answer(page) == before)
    count = len(names(page))
    for name, typed in (("run", "3"), ("start", "1"), ("stop", "31")):
        page.find_element(By.CSS_SELECTOR, f"#add-leg [name={name}]").send_keys(typed)
    page.find_element(By.CSS_SELECTOR, "#add-leg button").click()
    until(page, lambda: len(names(page)) == count + 1)
    assert complaints(page) == []


def test_a_shorter_stretch_is_drawn_and_its_legs_are_moved_there(page: Chrome) -> None:
    before = answer(page)
    press_window(page, "closer")
    press_window(page, "closer")
    spans: list[float] = page.execute_script(
        "const d = document.querySelector('svg.strips').dataset; return [+d.start, +d.stop]"
    )
    seen = [
        one
        for one in page.find_elements(By.CSS_SELECTOR, HANDLES)
        if spans[0] < now(one) < spans[1]
    ]
    assert seen
    page.execute_script("arguments[0].focus()", seen[0])
    ActionChains(page).key_down(Keys.SHIFT).send_keys(Keys.ARROW_RIGHT).perform()
    ActionChains(page).key_up(Keys.SHIFT).perform()
    settled(page, before)
    press_window(page, "all")
    assert complaints(page) == []


def press_window(page: Chrome, way: str) -> None:
    drawing = page.find_element(By.CSS_SELECTOR, "svg.strips")
    page.find_element(By.CSS_SELECTOR, f"[data-window={way}]").click()

    def replaced() -> bool:
        return bool(page.find_element(By.CSS_SELECTOR, "svg.strips") != drawing)

    until(page, replaced)


NARROWER: Final = """
const box = document.getElementById("strips");
const share = () => {
  const all = box.querySelector("svg").getBoundingClientRect();
  return [...box.querySelectorAll(".leg-area, [role=slider] rect")].map(one => {
    const part = one.getBoundingClientRect();
    return ((part.left + part.right) / 2 - all.left) / all.width;
  });
};
const before = share();
box.style.width = "300px";
const after = share();
box.style.width = "";
return before.map((place, at) => Math.abs(place - after[at]));
"""


def test_legs_stay_with_the_lines_on_paper_of_another_width(page: Chrome) -> None:
    moved = page.execute_script(NARROWER)
    assert len(moved) == 36
    assert max(moved) < 0.002


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_reaches_beyond_the_edge(page: Chrome, width: int) -> None:
    show(page, width)
    wide: list[Any] = page.execute_script(
        "const w = document.documentElement.clientWidth; return [...document.querySelectorAll"
        "('body *')].filter(e => !e.closest('.across, .skip, svg.strips') && "
        "e.getBoundingClientRect().right > w + 1).map(e => e.outerHTML.slice(0, 200))"
    )
    assert wide == []


DROP: Final = """
const all = new DataTransfer();
all.items.add(new File([arguments[0]], "dropped.csv", {type: "text/csv"}));
document.dispatchEvent(new DragEvent("drop", {dataTransfer: all, bubbles: true, cancelable: true}));
"""
OVERTAKEN: Final = """
const [root, done] = arguments;
import(root + "look/flight_answer.js").then(async ({ Answer }) => {
  const sent = [], seen = [], real = window.fetch;
  const boxes = {sentences: document.createElement("div"), numbers: document.createElement("div")};
  window.fetch = async (address, {body}) => {
    const legs = JSON.parse(body).legs;
    sent.push(legs);
    await new Promise(go => setTimeout(go, 60));
    const json = async () => ({sentences: `<p>${legs}</p>`, numbers: "", legs: [], refused: false});
    return {ok: true, json};
  };
  const answer = new Answer("solve", boxes, () => seen.push(boxes.sentences.textContent));
  answer.shown = performance.now();
  for (const legs of ["one", "two", "three"]) { answer.ask(legs); }
  await new Promise(go => setTimeout(go, 400));
  window.fetch = real;
  done([sent, seen]);
});
"""


def test_a_log_is_dropped_on_the_page(browser: Chrome, server: Server) -> None:
    browser.get(f"{server.origin}{server.root}flight/")
    text = log_text(fly(truth=Truth(kappa=0.05, roughness=1.0)))
    browser.execute_script(DROP, text)
    until(browser, lambda: browser.find_elements(By.CSS_SELECTOR, HANDLES))
    assert "dropped.csv" in browser.title


def test_an_answer_that_was_overtaken_is_dropped(page: Chrome, server: Server) -> None:
    root = f"{server.origin}{server.root}"
    sent, seen = page.execute_async_script(OVERTAKEN, root)
    assert sent == ["one", "three"]
    assert seen == ["three"]


def test_what_was_picked_is_kept_with_the_flight(page: Chrome) -> None:
    before = answer(page)
    page.find_elements(By.CSS_SELECTOR, "#strips [role=checkbox]")[1].click()
    settled(page, before)
    page.find_element(By.CSS_SELECTOR, "select[name=airframe] [value='C-02']").click()
    page.find_element(By.NAME, "weight_kg").send_keys("560")
    page.find_element(By.CSS_SELECTOR, "[formaction=keep]").click()
    until(page, lambda: "/sorties/" in page.current_url)
    body = page.find_element(By.TAG_NAME, "body").text
    assert "is kept as sortie" in body
