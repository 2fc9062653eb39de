"""Requests that no browser sends: too large, too slow, half finished, for strange places."""

from __future__ import annotations

import contextlib
import os
import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.store import open_store
from fleetcal.web.app import make_app
from fleetcal.web.desk import Desk
from fleetcal.web.gate import Gate
from tests.publish.site_store import make_store
from tests.store_places import store_at
from tests.web.serving import PATIENCE_S, Server, read_answer, send_raw, serving, wait_for

GIGABYTE = 1 << 30
#: How much memory a server may take for a request that it refuses, kB.
ROOM_KB = 40_000


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_store(tmp_path_factory.mktemp("store"), hostile=False)


@pytest.fixture(scope="module")
def server(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(store, tmp_path_factory.mktemp("private")) as opened:
        assert opened.get().status == 200  # what pages need is worked out
        yield opened


def _head(server: Server, target: str, *lines: str, known: bool = True) -> bytes:
    head = [f"POST {target} HTTP/1.1", f"Host: 127.0.0.1:{server.port}", *lines]
    if known:
        head += [f"Cookie: {server.cookie}", f"Origin: {server.origin}"]
        head += ["Sec-Fetch-Site: same-origin"]
    return ("\r\n".join(head) + "\r\n\r\n").encode()


def _send_much(port: int, head: bytes, part: bytes, most: int) -> tuple[int, int]:
    """Send parts until an answer comes; return its status and how much was sent."""
    sent, got = 0, b""
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S) as line:
        line.sendall(head)
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            while sent < most:
                line.sendall(part)
                sent += len(part)
        with contextlib.suppress(ConnectionResetError):
            while more := line.recv(1 << 16):
                got += more
    return read_answer(got).status, sent


def _open_files_kb(server: Server) -> float:
    """Return how much the server keeps in files, also those without a name."""
    total = 0
    for file in Path(f"/proc/{server.process.pid}/fd").iterdir():
        with contextlib.suppress(OSError):
            if str(server.temporary) in os.readlink(file):
                total += file.stat().st_size
    return total / 1000.0


@pytest.mark.long
@pytest.mark.parametrize("known", [True, False], ids=["the user", "a stranger"])
@pytest.mark.parametrize("length", [GIGABYTE, 10**30])
def test_a_gigabyte_is_refused_by_its_declared_length(
    server: Server, known: bool, length: int
) -> None:
    before = server.kilobytes
    target = f"{server.root}progress/1/stop" if known else "/enter"
    head = _head(server, target, f"Content-Length: {length}", known=known)
    status = send_raw(server.port, head).status  # not a byte of it was sent
    assert status == 413
    assert server.kilobytes < before + ROOM_KB
    assert list(server.private.iterdir()) == []
    assert server.get().status == 200


@pytest.mark.parametrize("length", ["-1", "1e9", "0x10", "5, 6", "9" * 5000])
def test_a_length_that_is_none_is_refused(server: Server, length: str) -> None:
    head = _head(server, f"{server.root}progress/1/stop", f"Content-Length: {length}")
    assert send_raw(server.port, head).status in (400, 413, 431)
    assert server.get().status == 200


def test_a_stranger_is_refused_after_a_few_kilobytes_without_length(server: Server) -> None:
    part = b"10000\r\n" + b"x" * 65536 + b"\r\n"
    head = _head(server, "/enter", "Transfer-Encoding: chunked", known=False)
    status, sent = _send_much(server.port, head, part, GIGABYTE)
    assert status in (0, 413)  # 0: it was cut off while still sending
    assert sent < 32 * 2**20  # what buffers between two programs hold
    head = _head(server, "/enter", "Transfer-Encoding: chunked", known=False)
    assert send_raw(server.port, head + b"2000\r\n" + b"x" * 8192).status == 413


@pytest.mark.long
def test_a_gigabyte_without_length_ends_at_the_limit_and_leaves_nothing(server: Server) -> None:
    before = server.kilobytes
    part = b"100000\r\n" + b"x" * 2**20 + b"\r\n"
    target = f"{server.root}progress/1/stop"
    head = _head(server, target, "Transfer-Encoding: chunked")
    status, sent = _send_much(server.port, head, part, GIGABYTE)
    assert status in (0, 413)
    assert sent < 300 * 2**20
    assert server.kilobytes < before + ROOM_KB
    wait_for(lambda: _open_files_kb(server) < 1.0, "what was sent is gone")
    assert list(server.private.iterdir()) == []
    assert {path.name for path in server.temporary.iterdir()} == {server.private.name}
    assert server.get().status == 200


def test_a_line_that_never_ends_is_refused(server: Server) -> None:
    before = server.kilobytes
    for head in (
        _head(server, "/enter", "Transfer-Encoding: chunked", known=False) + b"1;" + b"a" * 2**16,
        b"GET /" + b"a" * 2**20 + b" HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: " + b"a" * 2**20 + b"\r\n\r\n",
    ):
        assert send_raw(server.port, head).status in (0, 400, 413, 431)
    assert server.kilobytes < before + ROOM_KB
    assert server.get().status == 200


@pytest.mark.parametrize(
    "request_bytes",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"GET\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
        b"\r\n" * 500,
        b"GET / HTTP/1.1\r\nContent-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        b"GET / HTTP/1.1\nHost: x\n\n",
        b"GET / HTTP/1.1\r\nHost : x\r\n\r\n",
        b"GET / HTTP/1.1\r\nX: a\r\n b\r\n\r\n",
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    ],
)
def test_what_is_no_request_opens_nothing(server: Server, request_bytes: bytes) -> None:
    with socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE_S) as line:
        line.sendall(request_bytes)
        line.shutdown(socket.SHUT_WR)
        got = b""
        with contextlib.suppress(ConnectionResetError):
            while part := line.recv(1 << 16):
                got += part
    assert read_answer(got).status in (0, 400, 403, 431, 501)
    assert server.get().status == 200


def test_many_parts_of_a_form_are_refused(server: Server) -> None:
    bound = b"--b\r\n"
    part = b'Content-Disposition: form-data; name="a"\r\n\r\n1\r\n'
    body = bound + bound.join([part] * 20_000) + b"--b--\r\n"
    answer = server.raw(
        "POST", "/enter", body[:4000], Content_Type="multipart/form-data; boundary=b"
    )
    assert answer.status in (400, 403, 413)
    before = server.kilobytes
    fields = b"&".join(b"a%d=1" % number for number in range(100_000))
    for sent, kind in (
        (body, "multipart/form-data; boundary=b"),
        (fields, "application/x-www-form-urlencoded"),
        (b"x" * 2**20, "multipart/form-data"),
        (b"--b\r\n" * 10_000, "multipart/form-data; boundary=b"),
    ):
        answer = server.raw("POST", f"{server.root}progress/1/stop", sent, Content_Type=kind)
        assert 400 <= answer.status < 500
    assert server.kilobytes < before + 2 * ROOM_KB
    assert server.get().status == 200


def test_sixty_slow_connections_keep_nobody_out(server: Server) -> None:
    lines = []
    try:
        for _ in range(60):
            line = socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE_S)
            line.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-")
            lines.append(line)
        for _ in range(60):  # and as many that never send what they promised
            line = socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE_S)
            head = _head(server, f"{server.root}progress/1/stop", "Content-Length: 1000")
            line.sendall(head + b"x")
            lines.append(line)
        for _ in range(3):
            assert server.get().status == 200
            for line in lines:
                line.sendall(b"a")
    finally:
        for line in lines:
            line.close()
    assert server.get().status == 200


def test_it_listens_on_no_other_address_of_the_machine(server: Server) -> None:
    others = {"127.0.0.2", "127.1.1.1", "::1", *_addresses_of_this_machine()} - {"127.0.0.1"}
    for address in sorted(others):
        with pytest.raises(OSError):  # noqa: PT011  # refused or no such address: no answer
            socket.create_connection((address, server.port), timeout=30.0).close()


def _addresses_of_this_machine() -> set[str]:
    found = {one[4][0] for one in socket.getaddrinfo(socket.gethostname(), None)}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect(("192.0.2.1", 9))  # sends nothing; chooses the address of the way out
        found.add(probe.getsockname()[0])
    return {str(one) for one in found}


NASTY = (
    "../../../../etc/passwd",
    "%2e%2e/%2e%2e/etc/passwd",
    "..%2f..%2f..%2fetc%2fpasswd",
    "%252e%252e%252fetc%252fpasswd",
    "..%5c..%5cetc%5cpasswd",
    "..\\..\\etc\\passwd",
    "%00",
    "x%00.html",
    "%c0%ae%c0%ae%c0%af",
    "%ff%fe",
    "/etc/passwd",
    "//etc/passwd",
    "x;y",
    "%0d%0aSet-Cookie:%20a=b",
    "{{7*7}}",
    "%7b%7b7*7%7d%7d",
    "%3Cscript%3Ealert(1)%3C%2Fscript%3E",
    "-1",
    "99999999999999999999999999",
    "1e5",
    "NaN",
    "٣",
    "x" * 20_000,
)


@pytest.mark.long
@pytest.mark.parametrize("nasty", NASTY, ids=lambda one: one[:24])
def test_no_name_in_an_address_leads_out_of_the_pages(
    server: Server, addresses_with_names: list[str], nasty: str
) -> None:
    targets = [f"{server.root}{nasty}"]
    targets += [server.root + one.format(nasty) for one in addresses_with_names]
    assert len(targets) > 6
    for target in targets:
        for method in ("GET", "POST"):
            answer = server.raw(method, target)
            assert 300 <= answer.status < 500, (method, target[:200], answer.text[:300])
            assert "root:" not in answer.text
            assert "<script>alert" not in answer.text
            assert answer.text.strip() != "49"
            assert "Traceback" not in answer.text
            assert "a=b" not in str(answer.headers.get("Set-Cookie"))
            if answer.status < 400:  # led on: to our own pages alone
                assert not answer.headers["Location"].startswith("//")
                assert "://" not in answer.headers["Location"]


@pytest.fixture(scope="module")
def addresses_with_names(store: Path) -> list[str]:
    """Every address of the pages that has a part to fill in, as a format."""
    with open_store(store_at(store)) as opened:
        desk = Desk(opened, Gate(1))
        rules = [rule.rule for rule in make_app(desk).url_map.iter_rules() if rule.arguments]
        desk.close()
    return [re.sub(r"<[^>]*>", "{0}", rule.removeprefix(desk.gate.root)) for rule in rules]
