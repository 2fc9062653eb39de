"""Markup in names, notes, reasons and names of files is shown as it was written, on every page."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Final
from urllib.parse import quote, urlencode

import pytest

import fleetcal
from tests.publish.site_store import make_store
from tests.web.pages_found import pages_found
from tests.web.serving import Answer, Server, serving

pytestmark = pytest.mark.long

FLIGHTS = Path(fleetcal.__file__).parents[1] / "seed_demo" / "first-hours"
MARK: Final = "<i id=evil onclick=alert(1)>\"'`{{7*7}}${7*7}</i><script>alert(2)</script>"
NAME: Final = "<i id=evil onclick=alert(1)><script>alert(2)<script>.csv"


class Tags(HTMLParser):
    """Notes what a browser would make of a page, as far as it matters."""

    def __init__(self) -> None:
        super().__init__()
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        bad = [name for name in values if name.startswith("on") or name == "style"]
        leads = [(values.get(name) or "").strip().casefold() for name in ("href", "src", "action")]
        if (
            bad
            or values.get("id") == "evil"
            or (tag == "script" and not values.get("src"))
            or tag in ("iframe", "object", "embed", "base")
            or any(one.startswith(("javascript:", "http", "//")) for one in leads)
        ):
            self.wrong.append(self.get_starttag_text() or tag)


def wrong_tags(answer: Answer) -> list[str]:
    tags = Tags()
    tags.feed(answer.text)
    return tags.wrong


def test_the_check_can_fail() -> None:
    for page in (MARK, "<a href=' JavaScript:x'>", "<p style='a'>", "<img src=http://x/>"):
        answer = Answer(status=200, headers={}, body=page.encode())
        assert wrong_tags(answer)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on a store whose names would do harm, to which forms brought more of them."""
    store = make_store(tmp_path_factory.mktemp("store"), hostile=True)
    with serving(store, tmp_path_factory.mktemp("private")) as opened:
        _fill(opened)
        yield opened


def _post(server: Server, path: str, **fields: str) -> Answer:
    return server.raw("POST", server.root + path, urlencode(fields).encode())


def _fill(server: Server) -> None:
    texts = ("type", "static_source", "engine", "propeller", "pitot", "registration", "note")
    _post(server, "do/airframe", tag="X-1", **{name: f"{name} {MARK}" for name in texts})
    _post(server, "do/airframe", tag=MARK)
    assert _post(server, "do/points?sortie=2", point="8", reason=MARK).status == 303
    log = (FLIGHTS / "flight-1.csv").read_bytes()
    for page in ("flight/", "flight/"):
        assert server.drop((NAME, log), page=page).status == 303
    assert server.drop((NAME, log), ("2" + NAME, log)).status == 303
    assert _post(server, "flight/1/", note=MARK, flap_setting=MARK).status in (303, 400)
    _post(server, "flight/1/keep", airframe="+new", new_tag="X-9", new_type=MARK, note=MARK)
    _post(server, "flight/several/3/", airframe="+new", new_tag=MARK)


def test_no_page_takes_what_was_written_for_markup(server: Server) -> None:
    more = ("flight/1/", "flight/1/columns", "flight/several/3/", "progress/1/", "end")
    found = pages_found(server, *more, f"compare?first={quote(MARK)}", each=5)
    assert len(found) > 30
    assert {path: wrong for path, one in found.items() if (wrong := wrong_tags(one))} == {}
    assert any("&lt;i id=evil" in one.text for one in found.values())
    for path, one in found.items():
        assert "49" not in one.text or "{{7*7}}" in one.text or MARK not in one.text, path


def test_a_form_that_is_refused_shows_what_was_typed_and_no_markup(server: Server) -> None:
    forms: tuple[str, ...] = (
        "do/airframe",
        "do/fleet",
        "do/points?sortie=2",
        "do/move?sortie=2",
        "share/merge",
        "owners",
        "owners/name",
    )
    forms += ("do/weight?sortie=2", "flight/1/", "flight/1/keep", "flight/typed", "publish/site")
    forms += ("do/bench/airspeed?airframe=X-1", "do/equipment?airframe=X-1", "issues/make")
    names = "tag type note reason weight_kg since airframe group run-1 ias-1 speed_unit new_tag day"
    typed = dict.fromkeys((*names.split(), "point", "stall_kt", "decision", "choice"), MARK)
    refused = 0
    for form in forms:
        answer = _post(server, form, **typed)
        assert answer.status < 500, (form, answer.text)
        assert wrong_tags(answer) == [], form
        refused += answer.status >= 400
    assert refused > 8


@pytest.mark.parametrize(
    "address",
    [
        "publish",
        "plan",
        "compare",
        "history",
        "share",
        "issues/compare",
        "issues/file",
        "do/points",
    ],
)
def test_markup_in_an_address_is_none_in_the_page(server: Server, address: str) -> None:
    names = "group airframe first second sortie change weight_kg altitude_ft speed_unit format"
    for name in (*names.split(), "number", "type", "flaps", "since"):
        answer = server.get(f"{address}?{name}={quote(MARK)}")
        assert answer.status < 500, (address, name, answer.text)
        assert wrong_tags(answer) == []


def test_what_is_sent_as_a_file_is_kept_and_never_shown(server: Server) -> None:
    """A page of a published table would else run within our own address."""
    group = "C-08"
    sent = 0
    for name in ("html", "pdf", "csv", "json", "svg", "markdown", "card"):
        for path in (f"publish/file?group={group}&format={name}", "do/fleet.toml"):
            answer = server.get(path)
            assert answer.status in (200, 400)
            if answer.status == 200:
                sent += 1
                assert answer.headers["Content-Disposition"].startswith("attachment"), path
            assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert sent > 7
    for path in ("history/backup", "do/fleet-template.csv"):
        answer = server.get(path)
        assert answer.status == 200
        assert answer.headers["Content-Disposition"].startswith("attachment")


@pytest.mark.parametrize(
    "name",
    [
        *("../../etc/cron.d/x", "..\\..\\x.csv", "/etc/passwd", "C:\\x.csv", "a\r\nX-Bad: 1.csv"),
        *("..", ".", "x" * 300 + ".csv", "a\x00b.csv", ".hidden.csv", "con.csv"),
        *("é" * 200 + ".csv", "x." + "y" * 400, "\ud800.csv".encode("utf-8", "replace").decode()),
    ],
)
def test_a_name_of_a_file_leads_nowhere(server: Server, name: str) -> None:
    before = {path for path in server.temporary.rglob("*") if path.is_file()}
    answer = server.drop((name, b"UTC time,IAS (kt)\n09:00:00,60\n"))
    assert answer.status < 500, answer.text
    assert "X-Bad" not in answer.headers
    for path in {path for path in server.temporary.rglob("*") if path.is_file()} - before:
        assert path.is_relative_to(server.private)
        assert path.parent.parent.parent == server.private  # a flight, its log
    assert not Path("/etc/cron.d/x").exists()
