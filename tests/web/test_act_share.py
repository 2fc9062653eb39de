"""Share files made and taken in on pages."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
from werkzeug.test import TestResponse

from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import describe_airframe
from fleetcal.services.keeping.store_history import history_of, state_of
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.store import Store, open_store, select_points
from tests.services.invented_group import describe, flown_points
from tests.store_places import begun_at
from tests.web.served import ServedPages, served
from tests.web.test_history import HOSTILE


@pytest.fixture
def pages(described: Store) -> Iterator[ServedPages]:
    with served(described) as opened:
        yield opened


@pytest.fixture
def theirs(tmp_path: Path) -> Iterator[Store]:
    """Another store, with flights of C-03 and something else to say of C-02."""
    folder = tmp_path / "theirs"
    folder.mkdir()
    with open_store(begun_at(folder / "theirs.sqlite3")) as store:
        describe(store)
        flown_points(folder / "p.csv", ["C-03"])
        import_points(store, folder / "p.csv")
        yield store


def shared(store: Store, tmp_path: Path) -> bytes:
    share(store, tmp_path / "club.json", ShareChoice(registrations=True))
    return (tmp_path / "club.json").read_bytes()


def drop(pages: ServedPages, content: bytes, name: str = "club.json") -> TestResponse:
    sent = {"file": (io.BytesIO(content), name)}
    return pages.post("share/merge", data=sent, content_type="multipart/form-data")


def key_of(answer: TestResponse) -> str:
    found = re.search(r"([0-9a-f]{16})/$", answer.headers["Location"])
    assert found is not None
    return found[1]


def test_a_share_is_looked_at_and_is_the_one_that_the_command_writes(
    pages: ServedPages, tmp_path: Path
) -> None:
    describe_airframe(pages.desk.store, AirframeAnswers(tag="C-02", registration="XX-SECRET"))
    before = state_of(pages.desk.store)
    text = pages.get("share?look=yes").get_data(as_text=True)
    assert "Registrations are left out" in text
    answer = pages.get("share/file")
    share(pages.desk.store, tmp_path / "own.json", ShareChoice())
    assert answer.get_data() == (tmp_path / "own.json").read_bytes()
    assert b"XX-SECRET" not in answer.get_data()
    assert b"XX-SECRET" in pages.get("share/file?with_registrations=yes").get_data()
    assert re.fullmatch(
        r"attachment; filename=store\S*__share__[\w-]+\.json", answer.headers["Content-Disposition"]
    )
    assert state_of(pages.desk.store) == before
    assert not list(pages.desk.folder.iterdir())


def test_a_share_of_some_airframes_holds_those(pages: ServedPages) -> None:
    one = pages.get("share/file?airframes=C-02,%20C-03").get_data(as_text=True)
    assert "C-02" in one
    assert "C-04" not in one
    assert isinstance(json.loads(one), dict)


@pytest.mark.parametrize("query", ["airframes=C-99", "types=Heron", f"airframes={quote(HOSTILE)}"])
@pytest.mark.parametrize("path", ["share?look=yes&", "share/file?"])
def test_a_share_of_what_is_not_there_is_refused_and_all_is_kept(
    pages: ServedPages, path: str, query: str
) -> None:
    answer = pages.get(f"{path}{query}&with_logs=yes")
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "<script>alert" not in text
    assert 'name="with_logs" value="yes" checked' in text
    if "script" not in query:
        assert f'value="{query.split("=")[1]}"' in text


@pytest.mark.long
def test_a_share_is_shown_before_it_is_taken_in(
    pages: ServedPages, theirs: Store, tmp_path: Path
) -> None:
    before = state_of(pages.desk.store)
    answer = drop(pages, shared(theirs, tmp_path), "../../club.json")
    key = key_of(answer)
    text = pages.follow(answer).get_data(as_text=True)
    assert "2 added" in text
    (row,) = re.findall(r"<tr>.*?C-03.*?</tr>", text, re.DOTALL)
    assert re.search(r"20\d\d-\d\d-\d\d", row)
    assert "flight p.csv: " in row
    assert "It is signed by key " in text
    assert "Nothing is taken in yet" in text
    assert state_of(pages.desk.store) == before
    assert [one.name for one in pages.desk.folder.rglob("*.json")] == ["club.json"]
    done = pages.follow(pages.post(f"share/merge/{key}/")).get_data(as_text=True)
    assert "club.json is taken in: 2 added" in done
    assert history_of(pages.desk.store).lines[-1].command == "serve: merge of club.json"
    with pages.desk.store.reading() as session:
        assert {row.airframe for row in select_points(session)} == {"C-03"}
    assert not list(pages.desk.folder.iterdir())
    assert pages.post(f"share/merge/{key}/").status_code == 404


def test_a_share_that_is_not_taken_in_is_removed(
    pages: ServedPages, theirs: Store, tmp_path: Path
) -> None:
    before = state_of(pages.desk.store)
    key = key_of(drop(pages, shared(theirs, tmp_path)))
    text = pages.follow(pages.post(f"share/merge/{key}/forget")).get_data(as_text=True)
    assert "club.json was not taken in" in text
    assert not list(pages.desk.folder.iterdir())
    assert state_of(pages.desk.store) == before


@pytest.mark.long
def test_a_conflict_is_settled_on_the_page(
    pages: ServedPages, theirs: Store, tmp_path: Path
) -> None:
    store = pages.desk.store
    describe_airframe(store, AirframeAnswers(tag="C-02", note="blue"))
    describe_airframe(theirs, AirframeAnswers(tag="C-02", note=HOSTILE))
    key = key_of(drop(pages, shared(theirs, tmp_path)))
    path = f"share/merge/{key}/"
    text = pages.get(path).get_data(as_text=True)
    assert "<script>alert" not in text
    (conflict,) = set(re.findall(r'name="(choose-[0-9a-f]{8})"', text))
    before = state_of(store)
    open_ = pages.post(path)
    assert open_.status_code == 400
    assert "nothing was stored" in open_.get_data(as_text=True)
    assert "Choose a side for each." in open_.get_data(as_text=True)
    for wrong in ({conflict: "both"}, {conflict: "mine", "choose-00000000": "mine"}):
        refused = pages.post(path, data=wrong)
        assert refused.status_code == 400
    assert f'name="{conflict}" value="mine" checked' in refused.get_data(as_text=True)
    assert state_of(store) == before
    pages.follow(pages.post(path, data={conflict: "theirs"}))
    with store.reading() as session:
        assert len(select_points(session)) > 0
    assert not list(pages.desk.folder.iterdir())


@pytest.mark.parametrize("content", [b"", b"{}", b"\x00\xff", b'{"contents": []}', b"[" * 100000])
def test_a_file_that_is_no_share_is_refused_and_not_kept(
    pages: ServedPages, content: bytes
) -> None:
    before = state_of(pages.desk.store)
    answer = drop(pages, content, f"{HOSTILE}.json")
    assert answer.status_code == 400
    assert 'role="alert"' in answer.get_data(as_text=True)
    assert "<script>alert" not in answer.get_data(as_text=True)
    assert not list(pages.desk.folder.iterdir())
    assert state_of(pages.desk.store) == before


def test_no_file_is_refused(pages: ServedPages) -> None:
    answer = pages.post("share/merge", data={})
    assert answer.status_code == 400
    assert "No file was chosen" in answer.get_data(as_text=True)


@pytest.mark.parametrize("key", ["0" * 16, "..", "%2e%2e", "..%2f..", "0" * 15, HOSTILE])
def test_a_file_that_is_not_kept_is_named_so(pages: ServedPages, key: str) -> None:
    assert pages.get(f"share/merge/{quote(key)}/").status_code == 404
    assert pages.post(f"share/merge/{quote(key)}/").status_code == 404
    assert pages.post(f"share/merge/{quote(key)}/forget").status_code == 404
