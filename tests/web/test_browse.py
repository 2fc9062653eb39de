"""The served pages are those of the published site, with the bar on top."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import urljoin

import pytest

from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import Store
from tests.services.invented_group import flown_points
from tests.web.served import ServedPages, served

pytestmark = pytest.mark.long

TAGS = ["C-02", "C-03", "C-04", "C-05"]


@pytest.fixture
def pages(described: Store, tmp_path: Path) -> Iterator[ServedPages]:
    flown_points(tmp_path / "p.csv", TAGS)
    import_points(described, tmp_path / "p.csv")
    with served(described) as opened:
        yield opened


def test_every_page_that_is_linked_is_there(pages: ServedPages) -> None:
    seen, open_ = set[str](), {"index.html"}
    while open_:
        path = open_.pop()
        seen.add(path)
        answer = pages.get(path)
        assert answer.status_code == 200, (path, answer.get_data()[:500])
        root = pages.desk.gate.root
        text = answer.get_data(as_text=True) if answer.mimetype == "text/html" else ""
        for link in re.findall(r'(?:href|src)="([^"#]+)[^"]*"', text):
            if link.startswith("data:"):
                continue
            place = urljoin(root + path, unescape(link)).removeprefix(root)
            if place not in seen:
                open_.add(place)
        answer.close()
    assert {"airframes/C-02.html", "sorties/1.html", "look/site.css"} <= seen
    assert any(path.startswith("groups/") for path in seen)


def test_a_page_follows_what_is_done_to_the_store(pages: ServedPages, tmp_path: Path) -> None:
    before = pages.get().get_data(as_text=True)
    flown_points(tmp_path / "more.csv", ["C-06"])
    import_points(pages.desk.store, tmp_path / "more.csv")
    after = pages.get().get_data(as_text=True)
    assert before != after
    assert pages.get("airframes/C-06.html").status_code == 200


def test_nothing_within_a_page_needs_what_the_policy_refuses(pages: ServedPages) -> None:
    for path in ("", "airframes/C-02.html", "sorties/1.html"):
        text = pages.get(path).get_data(as_text=True)
        assert "<style" not in text
        assert re.search(r"<script(?![^>]*\bsrc=)", text) is None
        assert re.search(r"<[^>]*\s(style|on\w+)=", text) is None


def test_a_weight_in_the_address_is_that_of_the_tables(pages: ServedPages) -> None:
    usual = pages.get("airframes/C-02.html").get_data(as_text=True)
    light = pages.get("airframes/C-02.html?weight_kg=520").get_data(as_text=True)
    assert "520 kg" in light
    assert "520 kg" not in usual
    refused = pages.get("airframes/C-02.html?weight_kg=heavy")
    assert refused.status_code == 400
    assert "is no weight" in refused.get_data(as_text=True)


@pytest.mark.parametrize(
    "path",
    [
        *("airframes/C-99.html", "groups/none.html", "sorties/99.html", "climbs/none.html"),
        *("nowhere", "look/no.js", "tables/own-C-99--up.csv"),
    ],
)
def test_what_is_not_there_is_named(pages: ServedPages, path: str) -> None:
    assert pages.get(path).status_code == 404


def test_a_unit_in_the_address_is_that_of_the_table(pages: ServedPages) -> None:
    in_mph = pages.get("airframes/C-02.html?speed_unit=mph").get_data(as_text=True)
    in_kt = pages.get("airframes/C-02.html").get_data(as_text=True)
    assert 'data-unit="mph"' in in_mph
    first = [re.findall(r'data-curve="([\d.]+) ', text)[0] for text in (in_kt, in_mph)]
    assert float(first[1]) == pytest.approx(1.1508 * float(first[0]), abs=0.06)
    assert "mph" in in_mph[: in_mph.index("<table")]
    refused = pages.get("airframes/C-02.html?speed_unit=furlong")
    assert "cannot be laid out as" in refused.get_data(as_text=True)
