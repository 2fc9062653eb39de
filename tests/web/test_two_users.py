"""Another user of the same machine sees neither the pages, nor the link, nor the dropped files."""

from __future__ import annotations

import contextlib
import encodings.idna  # noqa: F401  # sockets load it, which another user may not
import json
import os
import re
import stat
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.publish.site_store import make_store
from tests.web.serving import Server, send_raw, start, wait_for

pytestmark = pytest.mark.long

OTHER_USER = 61222  # of nobody


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_store(tmp_path_factory.mktemp("store"), hostile=False)


def as_another_user(act: Callable[[], Any]) -> Any:
    """Do something in a process of another user and return its result, which is JSON."""
    assert os.geteuid() == 0
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # threads of the tests stay behind
        child = os.fork()
    if child == 0:
        try:
            os.setgroups([])
            os.setgid(OTHER_USER)
            os.setuid(OTHER_USER)
            found = json.dumps(act())
        except BaseException:
            found = json.dumps(traceback.format_exc())
        os.write(writing, found.encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as got:
        text = got.read()
    os.waitpid(child, 0)
    return json.loads(text)


@contextmanager
def _ways_open(folder: Path) -> Iterator[None]:
    """Let everybody come as far as a folder, as to the machine's own for temporary files."""
    modes = {one: one.stat().st_mode for one in (folder, *folder.resolve().parents)}
    try:
        for one, mode in modes.items():
            one.chmod(mode | 0o011)
        folder.chmod(0o755)
        yield
    finally:
        for one, mode in modes.items():
            one.chmod(mode)


def _command_lines() -> str:
    """Return what everybody can see of the programs that run."""
    found = []
    for file in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            found.append(file.read_text(encoding="utf-8", errors="replace"))
    return "\n".join(found)


def _prying(server: Server, token: str) -> dict[str, Any]:
    """Try what a curious user tries."""
    pid, private = server.process.pid, server.private
    request = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nConnection: close\r\n\r\n"

    def attempt(act: Callable[[], Any]) -> str:
        try:
            return f"got {str(act())[:200]}"
        except OSError as error:
            return type(error).__name__

    return {
        "folder": attempt(lambda: os.listdir(private)),
        "file": attempt(lambda: (private / "open.html").read_text(encoding="utf-8")),
        "writes": attempt(lambda: (private / "planted").write_text("x", encoding="utf-8")),
        "environment": attempt(lambda: Path(f"/proc/{pid}/environ").read_bytes()),
        "memory": attempt(lambda: Path(f"/proc/{pid}/mem").open("rb").close()),
        "files": attempt(lambda: os.listdir(f"/proc/{pid}/fd")),
        "ends it": attempt(lambda: os.kill(pid, 15)),
        "token in ps": token in _command_lines(),
        "ps works": "serve" in _command_lines(),
        "page": send_raw(server.port, request.encode()).status,
    }


@pytest.fixture
def opened(store: Path, tmp_path: Path) -> Any:
    """A server that opens a browser, which here only notes what it was started with."""
    note = tmp_path / "note"
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\necho "$@" > {note}.part; mv {note}.part {note}\n')
    browser.chmod(0o755)
    server = start(store, tmp_path / "private", browser=True, BROWSER=f"{browser} %s &")
    wait_for(note.exists, "the browser was started")
    yield server, note.read_text(encoding="utf-8").strip()
    server.end()


def test_another_user_gets_nothing(opened: tuple[Server, str]) -> None:
    server, address = opened
    entry = Path(address.removeprefix("file://"))
    assert entry.parent == server.private
    found = re.search(r'name="token" value="([^"]+)"', entry.read_text(encoding="utf-8"))
    assert found
    token = found[1]
    assert token not in address
    assert stat.S_IMODE(server.private.stat().st_mode) == 0o700
    assert server.private.stat().st_uid == os.geteuid()
    assert token not in _command_lines()
    assert server.link.partition("token=")[2] not in _command_lines()
    assert "serve" in _command_lines()
    if os.geteuid() != 0:
        # only root can become another user: the rights above and the gate's tests must do
        assert server.raw("GET", "/").status == 403
        return
    with _ways_open(server.temporary):
        seen = as_another_user(lambda: _prying(server, token))
    assert seen == {
        "folder": "PermissionError",
        "file": "PermissionError",
        "writes": "PermissionError",
        "environment": "PermissionError",
        "memory": "PermissionError",
        "files": "PermissionError",
        "ends it": "PermissionError",
        "token in ps": False,
        "ps works": True,
        "page": 403,
    }


def test_the_file_that_opens_the_browser_lets_in_once(opened: tuple[Server, str]) -> None:
    server, address = opened
    text = Path(address.removeprefix("file://")).read_text(encoding="utf-8")
    found = re.search(r'value="([^"]+)"', text)
    assert found
    word = f"token={found[1]}".encode()
    headers = {"Origin": "null", "Sec_Fetch_Site": "cross-site"}  # as a browser sends from a file
    first = server.raw("POST", "/enter", word, **headers)
    assert first.status == 200
    cookie = first.headers["Set-Cookie"].partition(";")[0]
    root = re.search(r'<a href="(/[^"]+/)"', first.text)
    assert root
    assert server.raw("GET", root[1], b"", Cookie=cookie).status == 200
    assert server.raw("POST", "/enter", word, **headers).status == 403
