"""Time the page of a flight in a real browser: from the drop of a log to its answer painted, and
from a move of a leg's edge to new numbers.

``python -m tests.bench.flight_page [TIMES]``

One run, on this machine, with server and browser on it. The logs are one invented flight: an
hour once a second with thirty legs; the same as if it had been logged ten times a second; and
five hours of that, flown again and again. Medians, and the slowest.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.by import By

from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store_places import begun_at
from tests.web.driven import driven, open_pages, show, until
from tests.web.serving import Server, start

TIMES: Final = 9
CARD: Final = Card(airspeeds_kt=(70.0, 78.0, 86.0, 95.0, 110.0, 125.0), legs=5, leg_s=75)
#: Notes in the page how long after a move of the pointer the answer to it was shown.
WATCH: Final = """
window.delays = []; window.began = 0;
const begin = () => { if (!window.began) { window.began = performance.now(); } };
const svg = document.querySelector("svg.strips");
svg.addEventListener("pointermove", e => { if (e.buttons) { begin(); } }, true);
const answer = document.getElementById("sentences");
new MutationObserver(() => {
  if (!window.began || answer.hasAttribute("aria-busy")) { return; }
  const began = window.began; window.began = 0;
  requestAnimationFrame(() => window.delays.push(performance.now() - began));
}).observe(answer, {attributes: true});
"""
PAINTED: Final = """
const painted = performance.getEntriesByName("first-contentful-paint")[0];
return painted ? performance.timeOrigin + painted.startTime : 0;
"""


def hour_of_seconds() -> str:
    """Return the log of an hour once a second."""
    lines = log_text(fly(CARD, Truth(kappa=0.05, roughness=1.0))).splitlines()
    return "\n".join(lines[: 3600 + 1]) + "\n"


def at_ten_a_second(text: str, hours: int) -> str:
    """Return a log with each row of another ten times, a tenth of a second apart."""
    heading, *rows = text.splitlines()
    made = io.StringIO()
    made.write(heading + "\n")
    begin = datetime(2024, 5, 2, 6, 0)
    for place in range(len(rows) * 10 * hours):
        moment = begin + timedelta(seconds=place / 10.0)
        day, time = moment.strftime("%Y-%m-%d"), moment.strftime("%H:%M:%S.%f")[:-5]
        readings = rows[place // 10 % len(rows)].split(",", 2)[2]
        made.write(f"{day},{time},{readings}\n")
    return made.getvalue()


def drop(browser: Chrome, server: Server, log: Path) -> float:
    """Drop a log and return the time until its answer was painted, s."""
    browser.get(f"{server.origin}{server.root}flight/")
    field = browser.find_element(By.ID, "logs")
    began: float = browser.execute_script("return Date.now()")
    field.send_keys(str(log))
    until(browser, lambda: browser.find_elements(By.CSS_SELECTOR, "#sentences p"))
    assert "reads" in browser.find_element(By.ID, "sentences").text
    until(browser, lambda: browser.execute_script(PAINTED) > 0)
    painted: float = browser.execute_script(PAINTED)
    return (painted - began) / 1000.0


def drags(browser: Chrome, times: int) -> Iterator[float]:
    """Drag an edge of the legs one after the other, and yield how late the numbers were, s."""
    browser.execute_script(WATCH)
    grips = browser.find_elements(By.CSS_SELECTOR, "#strips [data-edge=stop] rect")
    for place in range(times):
        grip = grips[place % len(grips)]
        browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", grip)
        count = len(browser.execute_script("return window.delays"))
        ActionChains(browser, duration=20).move_to_element(grip).click_and_hold().move_by_offset(
            -3, 0
        ).release().perform()
        until(browser, lambda before=count: len(browser.execute_script("return delays")) > before)
        browser.find_element(By.CSS_SELECTOR, "[data-legs-act=reset]").click()
        until(browser, lambda: not browser.find_elements(By.CSS_SELECTOR, "[aria-busy]"))
    found: list[float] = browser.execute_script("return window.delays")
    yield from (delay / 1000.0 for delay in found)


def main() -> None:
    """Print medians and the slowest of each."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else TIMES
    hour = hour_of_seconds()
    logs = {
        "an hour, 1 Hz": hour,
        "an hour, 10 Hz": at_ten_a_second(hour, 1),
        "five hours, 10 Hz": at_ten_a_second(hour, 5),
    }
    with tempfile.TemporaryDirectory() as name, driven() as browser:
        folder = Path(name)
        begun_at(folder / "bench.store")
        server = start(folder / "bench.store", folder / "served")
        try:
            open_pages(browser, server, server.link)
            show(browser, 1400)
            print(f"{'log':20} {'MB':>5} {'page kB':>8} {'drop s':>14} {'drag s':>14}")
            for words, text in logs.items():
                log = folder / "flight.csv"
                log.write_text(text, encoding="utf-8")
                drop(browser, server, log)  # the program has loaded what it needs
                dropped = [drop(browser, server, log) for _ in range(times)]
                size = len(browser.page_source) / 1000.0
                dragged = list(drags(browser, 2 * times))
                print(
                    f"{words:20} {log.stat().st_size / 1e6:5.1f} {size:8.0f} "
                    f"{_of(dropped):>14} {_of(dragged):>14}"
                )
        finally:
            server.end()


def _of(values: list[float]) -> str:
    return f"{statistics.median(values):.2f} ({max(values):.2f})"


if __name__ == "__main__":
    main()
