"""Real servers of the pages, as processes, and requests as raw as an attacker would send them."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

import fleetcal
from tests.store_places import store_at

#: No test fails because the machine is busy; it fails when nothing happens for this long.
PATIENCE_S: Final = 300.0
_LINK: Final = re.compile(r"http://127\.0\.0\.1:(\d+)/enter\?token=\S+")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What came back; status 0 if the connection ended without an answer."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def text(self) -> str:
        """The body, read as text."""
        return self.body.decode("utf-8", "replace")


def wait_for(what: Callable[[], object], words: str) -> None:
    """Wait until something is true."""
    until = time.monotonic() + PATIENCE_S
    while not what():
        assert time.monotonic() < until, f"not within {PATIENCE_S:g} s: {words}"
        time.sleep(0.05)


def send_raw(port: int, request: bytes, host: str = "127.0.0.1") -> Answer:
    """Send bytes and return what comes back until the other end closes."""
    got = b""
    with socket.create_connection((host, port), timeout=PATIENCE_S) as line:
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            line.sendall(request)
        with contextlib.suppress(ConnectionResetError):
            while part := line.recv(1 << 16):
                got += part
    return read_answer(got)


def read_answer(got: bytes) -> Answer:
    """Take the bytes of an answer apart."""
    head, _, body = got.partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    headers = {}
    for line in lines:
        name, _, value = line.partition(":")
        headers[name.strip().title()] = value.strip()
    status = int(first.split()[1]) if first.startswith("HTTP/") else 0
    return Answer(status=status, headers=headers, body=body)


@dataclass(kw_only=True)
class Server:
    """One running server.

    Attributes:
        temporary: Folder in which it makes its private one.
        root: Secret path, known after `enter`.
        cookie: Name and value, known after `enter`.
    """

    process: subprocess.Popen[str]
    link: str
    temporary: Path
    root: str = ""
    cookie: str = ""
    said: list[str] = field(default_factory=list)

    @property
    def port(self) -> int:
        """That it listens on."""
        return urlsplit(self.link).port or 0

    @property
    def origin(self) -> str:
        """Of its own pages."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def private(self) -> Path:
        """Folder that only this user can look into."""
        (found,) = self.temporary.glob("fleetcal-*")
        return found

    @property
    def kilobytes(self) -> int:
        """Memory it holds now."""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        return int(status.partition("VmRSS:")[2].split()[0])

    def raw(self, method: str, target: str, body: bytes = b"", **headers: str | None) -> Answer:
        """Send a request as the user's browser would; headers replace, None leaves one out.

        A name of a header is given with underscores.
        """
        sent: dict[str, str | None] = {"Host": f"127.0.0.1:{self.port}", "Cookie": self.cookie}
        if method == "POST":
            sent |= {"Origin": self.origin, "Sec-Fetch-Site": "same-origin"}
            sent["Content-Type"] = "application/x-www-form-urlencoded"
            sent["Content-Length"] = str(len(body))
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        lines = [f"{method} {target} HTTP/1.1", "Connection: close"]
        lines += [f"{name}: {value}" for name, value in sent.items() if value]
        head = ("\r\n".join(lines) + "\r\n\r\n").encode("utf-8", "surrogateescape")
        return send_raw(self.port, head + body)

    def get(self, path: str = "", **headers: str | None) -> Answer:
        """Ask for a page, named from the root of the pages."""
        return self.raw("GET", self.root + path, b"", **headers)

    def enter(self, link: str | None = None) -> Answer:
        """Open the link as a browser does, and keep what it gives."""
        address = urlsplit(link or self.link)
        answer = self.raw("GET", f"{address.path}?{address.query}")
        if answer.status == 200:
            self.cookie = answer.headers["Set-Cookie"].partition(";")[0]
            found = re.search(r'<a href="(/[^"]+/)"', answer.text)
            assert found
            self.root = found[1]
        return answer

    def drop(self, *files: tuple[str, bytes], page: str = "flight/", field: str = "logs") -> Answer:
        """Drop files, as names and contents, on a page."""
        parts = []
        for name, content in files:
            head = f'--edge\r\nContent-Disposition: form-data; name="{field}"; filename="{name}"'
            parts.append(f"{head}\r\nContent-Type: text/csv\r\n\r\n".encode() + content)
        body = b"\r\n".join(parts) + b"\r\n--edge--\r\n"
        kind = "multipart/form-data; boundary=edge"
        return self.raw("POST", self.root + page, body, Content_Type=kind)

    def end(self, number: int = signal.SIGTERM) -> int:
        """Send a signal and return how the process ended."""
        if self.process.poll() is None:
            self.process.send_signal(number)
        code = self.process.wait(timeout=PATIENCE_S)
        if self.process.stdout is not None and not self.process.stdout.closed:
            self.said.append(self.process.stdout.read())
            self.process.stdout.close()
        return code


def _heed_signals() -> None:
    """Heed what whoever runs the tests in the background may have them ignore."""
    for number in (signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)


def start(
    store: Path, temporary: Path, *words: str, browser: bool = False, **environment: str
) -> Server:
    """Start a server and read its link; ``end`` it when done.

    Args:
        browser: Let it open one, which the environment's BROWSER names.
    """
    temporary.mkdir(exist_ok=True)
    process = subprocess.Popen(
        [
            *(sys.executable, "-W", "error", "-m", "fleetcal", "--store", store_at(store)),
            *("serve", *([] if browser else ["--no-browser"]), *words),
        ],
        cwd=Path(fleetcal.__file__).parents[1],
        env={**os.environ, "TMPDIR": str(temporary), "PYTHONUNBUFFERED": "1", **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        preexec_fn=_heed_signals,
    )
    said: list[str] = []
    assert process.stdout is not None
    for line in process.stdout:
        said.append(line)
        if found := _LINK.search(line):
            return Server(process=process, link=found[0], temporary=temporary, said=said)
    raise AssertionError(f"no link was printed: {''.join(said)}")


@contextmanager
def serving(store: Path, temporary: Path, *words: str, **environment: str) -> Iterator[Server]:
    """Yield a server that let us in, and end it."""
    server = start(store, temporary, *words, browser=False, **environment)
    try:
        assert server.enter().status == 200
        yield server
    finally:
        server.end()
