"""A double click starts the page, or shows in the browser why it cannot."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import url2pathname

import pytest

pytestmark = pytest.mark.long

PATIENCE_S = 120.0


@pytest.fixture
def opened(tmp_path: Path) -> Path:
    """File that a browser of the test writes what it is to open into."""
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\nprintf %s "$1" > {tmp_path}/shown\n', encoding="utf-8")
    browser.chmod(0o755)
    return tmp_path / "shown"


def started(tmp_path: Path, store: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", "from fleetcal.cli.page_starter import main; main()"],
        env={**os.environ, "FLEETCAL_STORE": str(store), "BROWSER": str(tmp_path / "browser")},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def text_shown(opened: Path) -> str:
    until = time.monotonic() + PATIENCE_S
    while not (opened.exists() and opened.read_text(encoding="utf-8")):
        assert time.monotonic() < until, "no browser was opened"
        time.sleep(0.05)
    address = opened.read_text(encoding="utf-8")
    return Path(url2pathname(address.removeprefix("file://"))).read_text(encoding="utf-8")


def test_it_opens_the_pages_of_the_usual_store(tmp_path: Path, opened: Path) -> None:
    process = started(tmp_path, tmp_path / "mine.store")
    try:
        assert "/enter" in text_shown(opened)
        assert (tmp_path / "mine.store").exists()
    finally:
        process.send_signal(signal.SIGTERM)
        assert process.wait(PATIENCE_S) == 0


def test_it_shows_why_it_cannot_start(tmp_path: Path, opened: Path) -> None:
    (tmp_path / "mine.store").write_text("this is no store", encoding="utf-8")
    process = started(tmp_path, tmp_path / "mine.store")
    assert process.wait(PATIENCE_S) == 0
    assert "mine.store" in text_shown(opened)
    assert "did not start" in text_shown(opened)
