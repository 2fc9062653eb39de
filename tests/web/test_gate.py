"""Who is let in: everybody else on the machine, and every other site in the browser, is not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.publish.site_store import make_store
from tests.web.serving import Server, send_raw, serving, start

FLEET = "The fleet"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_store(tmp_path_factory.mktemp("store"), hostile=False)


@pytest.fixture(scope="module")
def server(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(store, tmp_path_factory.mktemp("private")) as opened:
        yield opened


@pytest.mark.long
def test_the_user_sees_the_fleet(server: Server) -> None:
    answer = server.get()
    assert answer.status == 200
    assert FLEET in answer.text


@pytest.mark.long
def test_a_link_works_once_and_only_when_complete(store: Path, tmp_path: Path) -> None:
    server = start(store, tmp_path)
    try:
        token = server.link.partition("token=")[2]
        assert len(token) >= 40
        for wrong in (
            "",
            "x" * len(token),
            token[:-1],
            token + "x",
            token.swapcase(),
            "%00",
            "%C3%A9",
        ):
            answer = server.enter(f"{server.origin}/enter?token={wrong}")
            assert answer.status == 403, wrong
            assert "Set-Cookie" not in answer.headers
        assert server.enter(f"{server.origin}/enter").status == 403
        assert server.enter().status == 200
        assert server.enter().status == 403
        assert server.get().status == 200
    finally:
        server.end()


@pytest.mark.long
def test_cookie_and_secret_path_are_both_needed(server: Server) -> None:
    assert server.get(Cookie=None).status == 403
    assert server.get(Cookie=server.cookie[:-1]).status == 403
    forged = "eyJhZG1pdHRlZCI6dHJ1ZX0.aaaaaa.AAAAAAAAAAAAAAAAAAAAAAAAAAA"
    assert server.get(Cookie=f"fleetcal-{server.port}={forged}").status == 403
    for path in ("/", "/index.html", server.root[:-2] + "/", server.root.swapcase(), "//"):
        answer = server.raw("GET", path)
        assert answer.status == 403, path
        assert server.root not in answer.text
        assert FLEET not in answer.text


def test_a_refusal_reveals_neither_path_nor_store(server: Server, store: Path) -> None:
    for answer in (server.raw("GET", "/"), server.raw("GET", "/enter?token=1")):
        assert answer.status == 403
        assert server.root.strip("/") not in answer.text + str(answer.headers)
        assert store.name not in answer.text


@pytest.mark.long
def test_a_cookie_is_kept_to_the_secret_path_and_from_scripts(store: Path, tmp_path: Path) -> None:
    server = start(store, tmp_path)
    try:
        parts = {part.strip() for part in server.enter().headers["Set-Cookie"].split(";")}
        assert {"HttpOnly", "SameSite=Strict", f"Path={server.root}"} <= parts
        assert not any(part.startswith("Domain") for part in parts)
    finally:
        server.end()


@pytest.mark.long
def test_the_cookie_of_one_server_opens_no_other(
    server: Server, store: Path, tmp_path: Path
) -> None:
    with serving(store, tmp_path) as other:
        assert other.root != server.root
        assert other.get(Cookie=server.cookie).status == 403
        renamed = server.cookie.replace(str(server.port), str(other.port))
        assert other.get(Cookie=renamed).status == 403
        assert other.enter(f"{other.origin}{urlsplit(server.link).path}?token=").status == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": None, "Sec-Fetch-Site": None},
        {"Origin": "https://127.0.0.1:{port}"},
        {"Origin": "http://127.0.0.1"},
        {"Origin": "http://127.0.0.1:1"},
        {"Origin": "http://localhost:{port}"},
        {"Origin": "http://127.0.0.1:{port}.evil.example"},
        {"Origin": "http://127.0.0.1:{port}, http://evil.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none, cross-site"},
        {"Sec-Fetch-Site": "SAME-ORIGIN-NOT"},
    ],
    ids=str,
)
def test_what_changes_something_comes_from_our_own_pages_alone(
    server: Server, headers: dict[str, str | None]
) -> None:
    sent = {name: value and value.format(port=server.port) for name, value in headers.items()}
    assert server.raw("POST", f"{server.root}progress/1/stop", b"", **sent).status == 403
    assert server.raw("POST", f"{server.root}progress/1/stop").status == 404  # nothing to stop


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_no_other_site_can_look_at_a_page(server: Server, site: str) -> None:
    assert server.get(Sec_Fetch_Site=site).status == 403
    assert server.get(Sec_Fetch_Site="same-origin").status == 200
    assert server.get(Sec_Fetch_Site="none").status == 200


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW", "get"])
def test_no_other_method_is_taken(server: Server, method: str) -> None:
    answer = server.raw(method, server.root)
    assert answer.status in (400, 403, 405)
    assert "Access-Control-Allow-Origin" not in answer.headers
    assert server.cookie not in answer.text


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:{port}",
        "127.0.0.1.evil.example:{port}",
        "127.0.0.1",
        "127.0.0.1:1",
        "127.0.0.1:{port}:80",
        "user@127.0.0.1:{port}",
        "127.0.0.1:{port}/",
        "127.1:{port}",
        "0.0.0.0:{port}",
        "2130706433:{port}",
        "[::1]:{port}",
        "127.0.0.1:{port}, evil.example",
        "localhost.:{port}",
        "",
    ],
)
def test_a_name_that_somebody_points_here_is_refused(server: Server, host: str) -> None:
    name = host.format(port=server.port)
    assert server.get(Host=name).status in (400, 403)
    token = server.link.partition("token=")[2]
    assert server.raw("GET", f"/enter?token={token}", Host=name).status in (400, 403)


def test_two_names_of_a_host_are_no_name(server: Server) -> None:
    lines = [f"GET {server.root} HTTP/1.1", f"Host: 127.0.0.1:{server.port}", "Host: evil.example"]
    lines += [f"Cookie: {server.cookie}", "Connection: close", "", ""]
    assert send_raw(server.port, "\r\n".join(lines).encode()).status in (400, 403)


def test_an_address_in_the_request_line_does_not_replace_the_host(server: Server) -> None:
    own, foreign = f"127.0.0.1:{server.port}", f"evil.example:{server.port}"
    for target, host in ((foreign, own), (own, foreign), (foreign, foreign), (own, own)):
        assert server.raw("GET", f"http://{target}{server.root}", Host=host).status in (400, 403)
    for target in ("*", "evil.example:80", f"//evil.example{server.root}", "evil"):
        assert server.raw("GET", target).status in (400, 403, 404)


def test_headers_that_proxies_send_change_nothing(server: Server) -> None:
    spoofed = {"X_Forwarded_Host": "evil.example", "X_Forwarded_For": "10.0.0.1"}
    spoofed |= {"Forwarded": "host=evil.example", "X_Original_URL": "/", "X_Rewrite_URL": "/"}
    answer = server.get(**spoofed)
    assert answer.status == 200
    assert "evil.example" not in answer.text + str(answer.headers)
    lowered = {"X_Forwarded_Host": f"127.0.0.1:{server.port}", "Host": "evil.example"}
    assert server.get(**lowered).status == 403


def test_a_form_may_not_change_its_method(server: Server) -> None:
    answer = server.get("progress/1/stop?_method=POST", X_HTTP_Method_Override="POST")
    assert answer.status in (404, 405)


@pytest.mark.long
@pytest.mark.parametrize(
    "path", ["", "index.html", "look/site.css", "look/site.js", "nowhere", "sorties/1.html"]
)
def test_every_answer_carries_the_policy(server: Server, path: str) -> None:
    for answer in (server.get(path), server.raw("GET", f"/{path}")):
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        for part in ("base-uri 'none'", "form-action 'self'", "frame-ancestors 'none'"):
            assert part in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"] == "no-store"
        assert answer.headers["Referrer-Policy"] == "same-origin"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert "Access-Control-Allow-Origin" not in answer.headers
        assert "Python" not in str(answer.headers)
        assert "waitress" not in str(answer.headers) + answer.text
