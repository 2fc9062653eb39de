"""However a server ends, its private folder goes and the store holds nothing half-written."""

from __future__ import annotations

import shutil
import signal
import socket
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlencode

import pytest

import fleetcal
from tests.publish.site_store import make_store, run
from tests.store_places import SERVER, store_at
from tests.web.serving import Server, serving, start, wait_for

pytestmark = pytest.mark.long

FLIGHTS = Path(fleetcal.__file__).parents[1] / "seed_demo" / "first-hours"
ENDS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_store(tmp_path_factory.mktemp("store"), hostile=False)


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Path:
    """A store of this test's own."""
    if SERVER.url is not None:
        return make_store(tmp_path, hostile=False)
    return Path(shutil.copy(made, tmp_path / "own.store"))


def left(server: Server) -> list[str]:
    return sorted(path.name for path in server.temporary.iterdir())


def sound(store: Path) -> None:
    run(store, "store", "check")


@pytest.mark.parametrize("number", ENDS)
def test_a_signal_ends_it_cleanly(store: Path, tmp_path: Path, number: int) -> None:
    server = start(store, tmp_path / "private")
    assert server.enter().status == 200
    assert server.get().status == 200
    assert left(server)
    assert server.end(number) == 0
    assert left(server) == []
    assert "Traceback" not in "".join(server.said)


@pytest.mark.parametrize("number", ENDS)
def test_a_signal_ends_it_before_anybody_came(store: Path, tmp_path: Path, number: int) -> None:
    server = start(store, tmp_path / "private")
    assert server.end(number) == 0
    assert left(server) == []


def test_its_own_button_ends_it(store: Path, tmp_path: Path) -> None:
    with serving(store, tmp_path / "private") as server:
        assert server.get("end").status == 200
        assert server.raw("POST", f"{server.root}end").status == 200
        assert server.process.wait(timeout=300.0) == 0
        assert left(server) == []


@pytest.mark.parametrize("number", ENDS)
def test_it_ends_while_a_file_is_on_its_way(store: Path, tmp_path: Path, number: int) -> None:
    before = run(store, "points", "list")
    with serving(store, tmp_path / "private") as server:
        lines = [f"POST {server.root}flight/ HTTP/1.1", f"Host: 127.0.0.1:{server.port}"]
        lines += [f"Cookie: {server.cookie}", f"Origin: {server.origin}", "Content-Length: 9000000"]
        lines += ["Content-Type: multipart/form-data; boundary=edge", "", ""]
        with socket.create_connection(("127.0.0.1", server.port)) as line:
            line.sendall("\r\n".join(lines).encode() + b"x" * 600_000)
            assert server.end(number) == 0
        assert left(server) == []
    assert run(store, "points", "list") == before


@pytest.mark.parametrize("number", [*ENDS, signal.SIGKILL])
def test_it_ends_while_flights_are_reduced_and_keeps_complete_ones_alone(
    store: Path, tmp_path: Path, number: int
) -> None:
    before = _points(store)
    with serving(store, tmp_path / "private") as server:
        files = [(file.name, file.read_bytes()) for file in sorted(FLIGHTS.glob("flight-*.csv"))]
        # the same flights under later days: flights of their own
        files += [(f"later-{name}", content.replace(b"2024-", b"2023-")) for name, content in files]
        answer = server.drop(*files)
        assert answer.status == 303, answer.text
        place = f"flight/{answer.headers['Location'].strip('./')}/".replace(
            "flight/flight", "flight"
        )
        page = server.get(place)
        assert page.status == 200, place
        form = urlencode({"airframe": "C-02", "weight_kg": "560"}).encode()
        work = server.raw("POST", server.root + place, form)
        assert work.status == 303, work.text
        wait_for(lambda: _points(store) > before or not _running(server), "a flight is kept")
        code = server.end(number)
        if number != signal.SIGKILL:
            assert code == 0
            assert left(server) == []
    sound(store)
    run(store, "curve", "C-02")


def _running(server: Server) -> bool:
    return '"running"' in server.get("progress/1/state").text


def _points(store: Path) -> int:
    return run(store, "points", "list", "--airframe", "C-02").count("\n")


def test_two_servers_on_one_store_and_on_two_do_not_meet(
    store: Path, made: Path, tmp_path: Path
) -> None:
    with (
        serving(store, tmp_path / "one") as one,
        serving(store, tmp_path / "two") as two,
        serving(made, tmp_path / "three") as three,
    ):
        servers = (one, two, three)
        assert len({server.port for server in servers}) == 3
        assert len({server.root for server in servers}) == 3
        for server in servers:
            assert server.get("airframes/C-03.html").status == 200
        run(store, "points", "reject", 3, "--reason", "a loose static line")
        words = "a loose static line"
        for server, seen in ((one, True), (two, True), (three, False)):
            pages = server.get("airframes/C-01.html").text + server.get("sorties/1.html").text
            assert (words in pages) is seen
        assert one.end() == 0
        for server in (two, three):
            assert server.get().status == 200
            assert left(server)


def test_a_port_that_is_taken_is_refused_in_words(store: Path, tmp_path: Path) -> None:
    with serving(store, tmp_path / "private") as server:
        words = ("--store", store_at(store), "serve", "--no-browser", "--port", str(server.port))
        done = subprocess.run(
            [sys.executable, "-m", "fleetcal", *words],
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
        )
        assert done.returncode != 0
        assert f"port {server.port}" in done.stderr
        assert "Hint:" in done.stderr
        assert "Traceback" not in done.stderr
        assert server.get().status == 200
