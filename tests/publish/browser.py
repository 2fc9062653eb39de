"""Drives an installed Chromium through its own debugging pipe, with the standard library alone.

The browser is Debian's package chromium. Its messages are JSON ended by a NUL, on
the file descriptors 3 and 4 (`--remote-debugging-pipe`).
"""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

PATIENCE_S = 600.0
FLAGS = (
    "--headless",
    "--no-sandbox",  # continuous checks run as root in a container
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-color-profile=srgb",
    "--hide-scrollbars",
)


@dataclass(kw_only=True)
class Tab:
    """One page of a running browser."""

    send: int
    receive: int
    session: str = ""
    number: int = 0
    buffer: bytes = b""
    events: list[dict[str, Any]] = field(default_factory=list)

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Send a command and return its result; events meanwhile are kept."""
        self.number += 1
        message: dict[str, Any] = {"id": self.number, "method": method, "params": parameters}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.send, json.dumps(message).encode() + b"\0")
        while True:
            got = self._next()
            if got.get("id") == self.number:
                assert "error" not in got, (method, got["error"])
                result: dict[str, Any] = got["result"]
                return result
            self.events.append(got)

    def _next(self) -> dict[str, Any]:
        until = time.monotonic() + PATIENCE_S
        while b"\0" not in self.buffer:
            ready, _, _ = select.select([self.receive], [], [], max(until - time.monotonic(), 0.0))
            assert ready, "the browser does not answer"
            part = os.read(self.receive, 1 << 20)
            assert part, "the browser has ended"
            self.buffer += part
        message, _, self.buffer = self.buffer.partition(b"\0")
        found: dict[str, Any] = json.loads(message)
        return found

    def open(self, path: Path) -> None:
        """Open a file and wait until it is loaded; events of earlier pages are forgotten."""
        self.events.clear()
        self.call("Page.navigate", url=path.resolve().as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next())

    def run(self, script: str) -> Any:
        """Return the value of an expression in the page; promises are waited for."""
        found = self.call(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def show(self, width: int, height: int = 900, scheme: str = "light") -> None:
        """Give the page a width in pixels and a colour scheme."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.call(
            "Emulation.setEmulatedMedia",
            features=[{"name": "prefers-color-scheme", "value": scheme}],
        )

    def requests(self) -> list[str]:
        """Return the addresses that were asked for since the page was opened."""
        self.run("0")  # lets pending events arrive
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]

    def complaints(self) -> list[str]:
        """Return what the console and the script engine complained of."""
        self.run("0")
        told = []
        for event in self.events:
            if event.get("method") == "Runtime.exceptionThrown":
                told.append(json.dumps(event["params"]["exceptionDetails"]))
            elif event.get("method") == "Log.entryAdded":
                told.append(event["params"]["entry"]["text"])
            elif event.get("method") == "Runtime.consoleAPICalled":
                told.append(json.dumps(event["params"]["args"]))
        return told

    def picture(self) -> bytes:
        """Return the whole page as PNG."""
        found = self.call("Page.captureScreenshot", captureBeyondViewport=True)
        return base64.b64decode(found["data"])

    def printed(self, width_in: float, height_in: float) -> bytes:
        """Return the page as the PDF that would be printed."""
        found = self.call(
            "Page.printToPDF",
            paperWidth=width_in,
            paperHeight=height_in,
            preferCSSPageSize=False,
            printBackground=False,
        )
        return base64.b64decode(found["data"])


@contextmanager
def browser() -> Iterator[Tab]:
    """Yield a tab of a browser of its own, without any earlier state."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    assert program, "Chromium is not installed: apt-get install chromium"
    to_browser, from_us = os.pipe()
    from_browser, to_us = os.pipe()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        # A shell puts the two pipes on the descriptors that the browser reads and writes.
        command = f'exec "$0" "$@" 3<&{to_browser} 4>&{to_us}'
        process = subprocess.Popen(
            [
                *("bash", "-c", command, program, *FLAGS, f"--user-data-dir={profile}"),
                *("--remote-debugging-pipe", "about:blank"),
            ],
            pass_fds=(to_browser, to_us),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_browser)
        os.close(to_us)
        try:
            tab = Tab(send=from_us, receive=from_browser)
            target = tab.call("Target.createTarget", url="about:blank")["targetId"]
            attached = tab.call("Target.attachToTarget", targetId=target, flatten=True)
            tab.session = attached["sessionId"]
            for name in ("Page", "Runtime", "Log", "Network"):
                tab.call(f"{name}.enable")
            yield tab
        finally:
            process.terminate()
            process.wait(timeout=600)
            os.close(from_us)
            os.close(from_browser)
