"""What a real browser sends, keeps back and refuses to run on the served pages."""

from __future__ import annotations

from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Final

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from tests.publish.site_store import make_store
from tests.web.driven import complaints, driven, open_pages, requests_made, until
from tests.web.serving import Server, start

pytestmark = pytest.mark.long

FORM: Final = """
const form = document.createElement("form");
form.method = "post"; form.action = arguments[0]; document.body.append(form); form.submit();
"""
INJECTED: Final = """
const done = arguments[0], place = document.createElement("div");
window.ran = [];
document.body.append(place);
place.innerHTML = "<p id=coloured style='color: rgb(1, 2, 3)'>x</p><img onerror='ran.push(1)'>";
const style = document.createElement("style");
style.textContent = "#coloured {color: rgb(1, 2, 3)}"; place.append(style);
const inline = document.createElement("script");
inline.textContent = "ran.push(2)"; place.append(inline);
const foreign = document.createElement("script");
const seen = tag => new Promise(ended => {
  tag.addEventListener("load", ended); tag.addEventListener("error", ended); });
const image = place.querySelector("img");
const both = Promise.all([seen(image), seen(foreign)]);
image.src = "data:,x"; foreign.src = "data:text/javascript,ran.push(3)"; place.append(foreign);
both.then(() => done([window.ran,
  getComputedStyle(document.getElementById("coloured")).color === "rgb(1, 2, 3)"]));
"""


class _Eavesdropper(BaseHTTPRequestHandler):
    """Another program on this machine, which notes what a browser sends to it."""

    seen: list[tuple[str, dict[str, str]]]
    page: str

    def do_GET(self) -> None:
        self.seen.append((self.path, dict(self.headers.items())))
        body = self.page.encode()
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Print nothing."""


class Eavesdropper(_Eavesdropper):
    """One for these tests."""

    seen: list[tuple[str, dict[str, str]]] = []  # noqa: RUF012  # emptied by the fixture
    page = ""


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_store(tmp_path_factory.mktemp("store"), hostile=False)


@pytest.fixture
def server(store: Path, tmp_path: Path) -> Iterator[Server]:
    opened = start(store, tmp_path)
    yield opened
    opened.end()


@pytest.fixture
def other_port() -> Iterator[str]:
    """Address of another program's pages on this machine."""
    Eavesdropper.seen.clear()
    Eavesdropper.page = "<title>other</title>"
    with ThreadingHTTPServer(("127.0.0.1", 0), Eavesdropper) as listener:
        thread = Thread(target=listener.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{listener.server_port}"
        listener.shutdown()
        thread.join()


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with driven(noting=True) as opened:
        yield opened


def test_a_form_of_our_own_page_is_taken(server: Server, browser: Chrome) -> None:
    open_pages(browser, server, server.link)
    browser.execute_script(FORM, "progress/1/stop")
    until(browser, lambda: "progress" in browser.current_url)
    assert "no work 1 to look at" in browser.find_element(By.TAG_NAME, "body").text


def test_another_port_sees_no_cookie_and_no_secret_path(
    server: Server, browser: Chrome, other_port: str
) -> None:
    open_pages(browser, server, server.link)
    assert browser.get_cookie(f"fleetcal-{server.port}") is not None
    browser.execute_script("window.location = arguments[0]", f"{other_port}/")
    until(browser, lambda: browser.title == "other")
    browser.get(f"{other_port}/index.html")
    assert [path for path, _ in Eavesdropper.seen if "favicon" not in path] == ["/", "/index.html"]
    for path, headers in Eavesdropper.seen:
        assert "Cookie" not in headers
        assert server.root not in path + str(headers)


def test_a_page_of_another_port_can_change_and_read_nothing(
    server: Server, browser: Chrome, other_port: str
) -> None:
    open_pages(browser, server, server.link)
    ours = server.origin + server.root
    Eavesdropper.page = "<title>other</title>"
    browser.get(other_port)
    browser.execute_script(FORM, f"{ours}progress/1/stop")
    until(browser, lambda: browser.title != "other")
    assert "comes from another site" in browser.find_element(By.TAG_NAME, "body").text
    browser.get(other_port)
    for mode in ("cors", "no-cors"):
        got = browser.execute_async_script(
            """const done = arguments[2];
            fetch(arguments[0], {mode: arguments[1], credentials: "include"})
              .then(a => a.text().then(t => done([a.status, t.length])), e => done("refused"));""",
            ours,
            mode,
        )
        assert got in ("refused", [0, 0])
    loaded = browser.execute_async_script(
        """const done = arguments[1], script = document.createElement("script");
        script.onload = () => done("loaded"); script.onerror = () => done("refused");
        script.src = arguments[0]; document.body.append(script);""",
        f"{ours}look/site.js",
    )
    assert loaded == "refused"


def test_a_page_of_ours_cannot_be_framed(server: Server, browser: Chrome, other_port: str) -> None:
    open_pages(browser, server, server.link)
    frame = f"<iframe src='{server.origin}{server.root}'></iframe>"
    Eavesdropper.page = f"<title>framing</title>{frame}"
    browser.get(other_port)
    browser.switch_to.frame(0)
    assert browser.find_elements(By.CSS_SELECTOR, "nav.bar") == []
    browser.switch_to.default_content()


def test_a_link_from_another_page_does_not_open_ours(
    server: Server, browser: Chrome, other_port: str
) -> None:
    open_pages(browser, server, server.link)
    Eavesdropper.page = f"<title>other</title><a href='{server.origin}{server.root}'>go</a>"
    browser.get(other_port)
    browser.find_element(By.TAG_NAME, "a").click()
    until(browser, lambda: browser.title != "other")
    assert browser.find_elements(By.CSS_SELECTOR, "nav.bar") == []


def test_script_that_got_into_a_page_does_not_run(
    server: Server, browser: Chrome, other_port: str
) -> None:
    open_pages(browser, server, server.link)
    complaints(browser)
    assert browser.execute_async_script(INJECTED) == [[], False]
    assert len([words for words in complaints(browser) if "Content Security Policy" in words]) >= 4
    browser.get(other_port)  # without a policy the same does run
    ran, coloured = browser.execute_async_script(INJECTED)
    assert sorted(ran) == [1, 2, 3]
    assert coloured


def test_a_page_reaches_no_other_address(server: Server, browser: Chrome, other_port: str) -> None:
    open_pages(browser, server, server.link)
    browser.execute_async_script(
        """const done = arguments[1], image = new Image();
        image.onload = image.onerror = () => fetch(arguments[0] + "/b").then(done, done);
        image.src = arguments[0] + "/a.png"; document.body.append(image);""",
        other_port,
    )
    assert Eavesdropper.seen == []


def test_nothing_is_fetched_from_anywhere_else(server: Server, browser: Chrome) -> None:
    open_pages(browser, server, server.link)
    requests_made(browser)
    complaints(browser)
    seen, ahead = set[str](), {browser.current_url}
    while ahead:
        address = ahead.pop()
        seen.add(address)
        browser.get(address)
        links = browser.execute_script(
            "return Array.from(document.querySelectorAll('a[href]'), "
            "a => new URL(a.getAttribute('href'), document.baseURI).href)"
        )
        assert all(link.startswith(server.origin + server.root) for link in links), address
        ahead |= {link.partition("#")[0] for link in links if ".html" in link} - seen
    assert len(seen) > 20
    made = requests_made(browser)
    assert len(made) > len(seen)
    elsewhere = [one for one in made if not one.startswith((server.origin, "data:"))]
    assert elsewhere == []
    assert complaints(browser) == []
