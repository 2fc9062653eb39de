"""A real browser, driven through its own programs of Debian's packages; nothing is fetched."""

from __future__ import annotations

import base64
import json
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from tests.web.serving import PATIENCE_S, Server

#: Widths of a telephone, a tablet and a desk, px.
WIDTHS: Final = (360, 768, 1400)


@contextmanager
def driven(*, noting: bool = False) -> Iterator[Chrome]:
    """Yield a browser without any earlier state.

    Args:
        noting: Note what is sent for, as `requests_made` needs it.
    """
    browser, driver = shutil.which("chromium"), shutil.which("chromedriver")
    assert browser, "Chromium is not installed: apt-get install chromium"
    assert driver, "its driver is not installed: apt-get install chromium-driver"
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        options = ChromeOptions()
        options.binary_location = browser
        logs = {"browser": "ALL"} | ({"performance": "ALL"} if noting else {})
        options.set_capability("goog:loggingPrefs", logs)
        for word in (
            "--headless=new",
            "--no-sandbox",  # continuous checks run as root in a container
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--no-first-run",
            "--force-color-profile=srgb",
            f"--user-data-dir={profile}",
        ):
            options.add_argument(word)
        opened = Chrome(options=options, service=Service(driver))
        try:
            opened.set_page_load_timeout(PATIENCE_S)
            opened.set_script_timeout(PATIENCE_S)
            yield opened
        finally:
            opened.quit()


def open_pages(browser: Chrome, server: Server, link: str) -> None:
    """Open a link that was printed, and wait for the first page."""
    browser.get(link)
    until(browser, lambda: browser.find_elements(By.CSS_SELECTOR, "nav.bar"))
    server.root = "/" + browser.current_url.split("/")[3] + "/"


def until(browser: Chrome, what: Any) -> Any:
    """Wait until something is true, and return it."""
    gone = [StaleElementReferenceException]  # a page may go while it is looked at
    wait = WebDriverWait(browser, PATIENCE_S, poll_frequency=0.05, ignored_exceptions=gone)
    return wait.until(lambda _: what())


def show(browser: Chrome, width: int, height: int = 900, scheme: str = "light") -> None:
    """Give the page a width in pixels and a colour scheme."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})


def requests_made(browser: Chrome) -> list[str]:
    """Return the addresses that were sent for since this was last looked at."""
    found = []
    for entry in browser.get_log("performance"):
        event = json.loads(entry["message"])["message"]
        if event["method"] == "Network.requestWillBeSent":
            found.append(event["params"]["request"]["url"])
    return found


def complaints(browser: Chrome) -> list[str]:
    """Return what the console complained of since this was last looked at."""
    return [entry["message"] for entry in browser.get_log("browser")]


def printed_text(browser: Chrome) -> str:
    """Print the page on A4 and return the text that is on the paper."""
    paper = {"paperWidth": 8.27, "paperHeight": 11.69, "preferCSSPageSize": False}
    data = browser.execute_cdp_cmd("Page.printToPDF", paper)["data"]
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(base64.b64decode(data))
        file.flush()
        done = subprocess.run(
            ["pdftotext", "-layout", file.name, "-"], capture_output=True, text=True, check=True
        )
    return done.stdout
