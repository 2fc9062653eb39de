"""What people come for, from beginning to end, in a real browser on a real server."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

import fleetcal
from tests.publish.site_store import make_store, run
from tests.publish.test_site_large import AIRFRAMES, fleet_toml, points_csv
from tests.web.driven import complaints, driven, open_pages, printed_text, until
from tests.web.serving import Server, start

pytestmark = pytest.mark.long

FLIGHTS = Path(fleetcal.__file__).parents[1] / "seed_demo" / "first-hours"


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with driven() as opened:
        yield opened


@pytest.fixture
def server(browser: Chrome, tmp_path: Path) -> Iterator[Server]:
    """A server on a store that nothing is in yet."""
    opened = start(tmp_path / "own.store", tmp_path / "private")
    open_pages(browser, opened, opened.link)
    complaints(browser)
    yield opened
    opened.end()


@pytest.fixture
def fleet(browser: Chrome, tmp_path: Path) -> Iterator[tuple[Server, Path]]:
    """A server on the store of a small fleet, and the store."""
    store = make_store(tmp_path, hostile=False)
    opened = start(store, tmp_path / "private")
    open_pages(browser, opened, opened.link)
    complaints(browser)
    yield opened, store
    opened.end()


@pytest.fixture(scope="module")
def refusing(
    browser: Chrome, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Server, Path]]:
    """A server for what is refused, and its store, in which nothing changes."""
    store = make_store(tmp_path_factory.mktemp("refusing"), hostile=False)
    opened = start(store, tmp_path_factory.mktemp("private"))
    open_pages(browser, opened, opened.link)
    yield opened, store
    opened.end()


def text(browser: Chrome) -> str:
    return browser.find_element(By.TAG_NAME, "body").text


def go(browser: Chrome, server: Server, path: str) -> str:
    """Open a page, named from the root of the pages, and return its text."""
    browser.get(server.origin + server.root + path)
    return text(browser)


def follow(browser: Chrome, words: str) -> None:
    """Press a link, also one that is folded away, and wait for its page."""
    browser.execute_script("document.querySelectorAll('main details').forEach(d => d.open = true)")
    link = browser.find_element(By.PARTIAL_LINK_TEXT, words)
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", link)
    before = browser.find_element(By.TAG_NAME, "html")
    link.click()
    until(browser, lambda: browser.find_element(By.TAG_NAME, "html") != before)


def press(browser: Chrome, selector: str) -> None:
    """Press what leads on, and wait for the next page."""
    button = browser.find_element(By.CSS_SELECTOR, selector)
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", button)
    before = browser.find_element(By.TAG_NAME, "html")
    button.click()
    until(browser, lambda: browser.find_element(By.TAG_NAME, "html") != before)


def fill(browser: Chrome, **values: str) -> None:
    """Write into fields or choose of them, by name."""
    for name, value in values.items():
        field = browser.find_element(By.NAME, name)
        browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", field)
        if field.tag_name == "select":
            field.find_element(By.CSS_SELECTOR, f"option[value='{value}']").click()
        else:
            field.clear()
            field.send_keys(value)


def tick(browser: Chrome, place: int) -> None:
    """Tick a point of a list."""
    box = browser.find_elements(By.CSS_SELECTOR, "[name=point]")[place]
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", box)
    box.click()


def drop(browser: Chrome, *paths: Path) -> None:
    """Let go of files or folders over the page, as from the desktop."""
    before = browser.find_element(By.TAG_NAME, "html")
    data = {"items": [], "files": [str(path) for path in paths], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        browser.execute_cdp_cmd(
            "Input.dispatchDragEvent", {"type": kind, "x": 200, "y": 300, "data": data}
        )
    until(browser, lambda: browser.find_element(By.TAG_NAME, "html") != before)


def test_a_builder_goes_from_a_dropped_log_to_a_printed_card(
    server: Server, browser: Chrome
) -> None:
    follow(browser, "Look at a flight")
    drop(browser, FLIGHTS / "flight-1.csv")
    answer = until(browser, lambda: browser.find_element(By.ID, "sentences").text)
    assert "At 66.3 kt your indicator reads right within ±0.8 kt" in answer
    assert "137° true" in answer
    fill(browser, airframe="+new")
    fill(browser, new_tag="F-01", new_type="Skua 2", new_static_source="belly pair")
    fill(browser, weight_kg="560")
    press(browser, "[formaction=keep]")
    assert "is kept as sortie 1 of F-01" in text(browser)
    for name in ("flight-2.csv", "flight-3.csv"):
        go(browser, server, "flight/")
        drop(browser, FLIGHTS / name)
        fill(browser, airframe="F-01")
        press(browser, "[formaction=keep]")
        assert "of F-01" in text(browser)
    page = go(browser, server, "airframes/F-01.html")
    assert "F-01" in page
    assert "too fast" in page or "kt" in page
    follow(browser, "Describe it further")
    fill(browser, engine="75 kW four", propeller="two-blade fixed", stall_kt="44")
    press(browser, "main form [type=submit]")
    assert "75 kW four" in go(browser, server, "airframes/F-01.html")
    go(browser, server, "plan")
    fill(browser, airframe="F-01")
    press(browser, "main form [type=submit]")
    assert "F-01" in text(browser)
    follow(browser, "as a page to print")
    pages = printed_text(browser)
    assert "F-01" in pages
    assert complaints(browser) == []


def test_a_folder_becomes_a_published_table(
    fleet: tuple[Server, Path], browser: Chrome, tmp_path: Path
) -> None:
    server, store = fleet
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("flight-1.csv", "flight-2.csv"):
        shutil.copy(FLIGHTS / name, folder / name)
    (folder / "letter.txt").write_text("Dear all,\nhere are the logs.\n", encoding="utf-8")
    go(browser, server, "flight/")
    drop(browser, folder)
    assert "3 logs" in text(browser)
    fill(browser, airframe="C-03", weight_kg="580")
    press(browser, "main form .main")
    until(browser, lambda: "What came of each" in text(browser))
    came = text(browser)
    assert "letter.txt" in came
    assert came.count("reduced") >= 2
    assert run(store, "points", "list", "--airframe", "C-03").count("\n") > 12
    go(browser, server, "index.html")
    group = browser.find_element(By.CSS_SELECTOR, "main th a[href*='groups/']")
    browser.get(str(group.get_attribute("href")))
    follow(browser, "Publish this table")
    assert "wing boom" in text(browser)
    follow(browser, "Issue")
    fill(browser, reason="two flights more")
    press(browser, "main form .main")
    assert "is made" in text(browser)
    assert "two flights more" in go(browser, server, "issues")
    assert complaints(browser) == []


def test_what_a_command_line_and_another_tab_do_is_seen_by_both(
    fleet: tuple[Server, Path], browser: Chrome
) -> None:
    server, store = fleet
    first = browser.current_window_handle
    old = go(browser, server, "do/points?sortie=1")
    assert "Which points count?" in old
    browser.switch_to.new_window("tab")
    go(browser, server, "sorties/1.html")
    run(store, "points", "reject", 2, "--reason", "by a command line")
    assert "by a command line" in go(browser, server, "sorties/1.html")
    go(browser, server, "do/points?sortie=1")
    tick(browser, 2)
    fill(browser, reason="by another tab")
    press(browser, "main form .main")
    assert "by another tab" in text(browser)
    counted = run(store, "points", "list", "--airframe", "C-01")
    assert "3 of them do not count" in counted  # one did not from the beginning
    browser.close()
    browser.switch_to.window(first)
    # the old tab still shows its point as counting; what it does is said of the store as it is
    tick(browser, 3)
    fill(browser, reason="by the old tab")
    press(browser, "main form .main")
    page = text(browser)
    for words in ("by a command line", "by another tab", "by the old tab"):
        assert words in page
    # what the command line decided is decided again by a tab that had not seen it: the last counts
    browser.back()
    tick(browser, 1)
    fill(browser, reason="on second thoughts")
    press(browser, "main form .main")
    page = text(browser)
    assert "on second thoughts" in page
    assert "by a command line" not in page
    history = go(browser, server, "history")
    assert "points reject" in history
    assert complaints(browser) == []


WRONG = {
    "empty.csv": b"",
    "picture.csv": b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40,
    "letter.txt": b"Dear all,\nhere are the logs.\n",
    "zeros.csv": b"\0" * 5000,
    "one-line.csv": b"UTC time,IAS (kt)\n",
    "words.csv": b"UTC time,IAS (kt),GS (kt)\n" + b"a,b,c\n" * 50,
    "<img src=x onerror=alert(1)>.csv": b"a,b\n1,2\n",
    "\u202egnp.csv": b"a,b\n1,2\n",
    "numbers.csv": b"1,2,3\n" * 5000,
    "long" * 50 + ".csv": b"a,b\n1,2\n",
}


def files_below(folder: Path) -> set[Path]:
    return {one for one in folder.rglob("*") if one.is_file()}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_is_refused_in_words_and_nothing_stays(
    refusing: tuple[Server, Path], browser: Chrome, tmp_path: Path, name: str
) -> None:
    server, store = refusing
    before, held = run(store, "points", "list"), files_below(server.private)
    path = tmp_path / name
    path.write_bytes(WRONG[name])
    go(browser, server, "flight/")
    drop(browser, path)
    page = text(browser)
    refused = browser.find_elements(By.CSS_SELECTOR, ".refused, [role=alert]")
    asked = "columns" in browser.current_url
    assert refused or asked, page
    assert "went wrong in the program" not in page
    assert browser.find_elements(By.CSS_SELECTOR, "img[onerror]") == []
    assert run(store, "points", "list") == before
    if not asked:
        assert files_below(server.private) == held


def test_the_program_itself_as_a_log_is_refused(
    refusing: tuple[Server, Path], browser: Chrome
) -> None:
    server, store = refusing
    go(browser, server, "flight/")
    drop(browser, store)
    assert browser.find_elements(By.CSS_SELECTOR, ".refused")
    assert "went wrong in the program" not in text(browser)


def test_the_button_that_ends_the_program_says_so(server: Server, browser: Chrome) -> None:
    go(browser, server, "end")
    press(browser, "main form .main")
    assert "The program has ended" in text(browser)
    assert server.process.wait(timeout=300.0) == 0


def test_a_closed_browser_leaves_the_program_as_it_is(tmp_path: Path) -> None:
    server = start(tmp_path / "own.store", tmp_path / "private")
    try:
        with driven() as other:
            open_pages(other, server, server.link)
        assert server.process.poll() is None
        assert server.raw("GET", "/").status == 403  # it goes on, for nobody else
        assert server.private.is_dir()
    finally:
        assert server.end() == 0
    assert list(server.temporary.iterdir()) == []


def test_three_hundred_airframes_are_browsed(browser: Chrome, tmp_path: Path) -> None:
    store = tmp_path / "large.store"
    (tmp_path / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    (tmp_path / "points.csv").write_text(points_csv(), encoding="utf-8")
    run(store, "fleet", "load", tmp_path / "fleet.toml")
    run(store, "points", "import", tmp_path / "points.csv")
    server = start(store, tmp_path / "private")
    try:
        open_pages(browser, server, server.link)
        complaints(browser)
        tags = browser.execute_script(
            "return [...new Set([...document.querySelectorAll(\"main a[href*='airframes/']\")]"
            ".map(a => a.textContent.trim()))]"
        )
        assert {f"C-{number:03d}" for number in range(AIRFRAMES)} <= set(tags)
        for tag in ("C-000", "C-151", "C-299"):
            assert tag in go(browser, server, f"airframes/{tag}.html")
        go(browser, server, "index.html")
        groups = browser.execute_script(
            "return [...new Set([...document.querySelectorAll(\"main a[href*='groups/']\")]"
            ".map(a => new URL(a.getAttribute('href'), location).href))]"
        )
        assert len(groups) == 6
        for address in sorted(groups)[:2]:
            browser.get(address)
            assert "another aircraft of the group" in text(browser)
        assert complaints(browser) == []
    finally:
        assert server.end() == 0
