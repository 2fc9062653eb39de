"""Owners seen and said on pages, and a stranger's share looked at there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import describe_airframe
from fleetcal.services.keeping.store_history import state_of
from fleetcal.services.sharing.owners import owners_shown
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.store import Store, open_store
from tests.store.invented_shares import signing_as
from tests.store_places import begun_at, copy_store
from tests.web.served import ServedPages, served
from tests.web.test_act_share import drop, key_of
from tests.web.test_history import HOSTILE


@pytest.fixture
def own_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "own" / "key.json"
    monkeypatch.setenv("FLEETCAL_KEY", str(path))
    return path


@pytest.fixture
def pages(described: Store, own_key: Path) -> Iterator[ServedPages]:
    with served(described) as opened:
        yield opened


def owners(pages: ServedPages) -> dict[str, str]:
    return {one.name: one.owner for one in owners_shown(pages.desk.store).lines}


def test_owners_are_shown_said_and_taken_back(pages: ServedPages, own_key: Path) -> None:
    text = pages.get("owners").get_data(as_text=True)
    assert "Nothing was signed here yet" in text
    assert re.search(r"All \d+ airframes: this store\.", text)
    assert "C-03</t" not in text
    with signing_as("Anna Berg") as anna:
        pass
    before = owners(pages)
    said = {"airframes": "C-02, C-03", "owner": "key", "key": anna.key}
    done = pages.follow(pages.post("owners", data=said)).get_data(as_text=True)
    assert f"The owner of C-02 is key {anna.mark}" in done
    assert "takes it back" in done
    assert "C-03</t" in done
    assert owners(pages)["C-03"] == f"key {anna.mark}"
    pages.post("owners", data={"airframes": "C-02,C-03", "owner": "mine"})
    assert owners(pages) == before
    assert not own_key.exists()


def test_a_coordinator_and_a_name_are_given(pages: ServedPages, own_key: Path) -> None:
    done = pages.follow(pages.post("owners/name", data={"name": "Bo Lind"}))
    assert "Shares from here are signed by Bo Lind" in done.get_data(as_text=True)
    kind = owners_shown(pages.desk.store).lines[0].name
    pages.post("owners", data={"type": kind, "owner": "mine", "decides": "yes"})
    text = pages.get("owners").get_data(as_text=True)
    assert "who signs here, decides on airframes" in text
    private = own_key.read_text().split('"private_key": "')[1][:64]
    assert private not in text


@pytest.mark.parametrize(
    "typed",
    [
        {"owner": "mine"},
        {"airframes": "C-99", "owner": "nobody"},
        {"airframes": "C-02"},
        {"airframes": "C-02", "owner": "key"},
        {"airframes": "C-02", "owner": "key", "key": HOSTILE},
        {"type": "Heron", "owner": "nobody"},
        {"airframes": "C-02", "owner": "everybody"},
    ],
)
def test_what_cannot_be_said_is_refused_and_kept(pages: ServedPages, typed: dict[str, str]) -> None:
    before = state_of(pages.desk.store)
    answer = pages.post("owners", data=typed)
    assert answer.status_code == 400
    assert "<script>alert" not in answer.get_data(as_text=True)
    assert state_of(pages.desk.store) == before
    assert pages.post("owners/name", data={"name": "two\nlines"}).status_code == 400


@pytest.mark.file_store("a database that is in use cannot be copied")
def test_a_strangers_share_is_shown_with_signer_and_conflicts(
    pages: ServedPages, tmp_path: Path
) -> None:
    copy = copy_store(pages.desk.store.label, tmp_path / "mal.sqlite3")
    with signing_as("Mal") as mal, open_store(copy) as store:
        describe_airframe(store, AirframeAnswers(tag="C-02", note="red"))
        share(store, tmp_path / "mal.json", ShareChoice(airframes=["C-02"]))
    key = key_of(drop(pages, (tmp_path / "mal.json").read_bytes(), "mal.json"))
    text = pages.get(f"share/merge/{key}/").get_data(as_text=True)
    assert f"It is signed by {mal.shown}." in text
    named = re.findall(r"<legend>(.*?)</legend>", text)
    assert len(named) == 2
    assert f"airframe C-02: this store's own here, and {mal.shown} claims it" in unescape(named[0])
    assert "note red" in text
    before = state_of(pages.desk.store)
    assert pages.post(f"share/merge/{key}/").status_code == 400
    assert state_of(pages.desk.store) == before


def test_an_owner_is_begun_with_a_store_that_a_share_comes_into(
    tmp_path: Path, described: Store, own_key: Path
) -> None:
    with signing_as("Anna Berg") as anna:
        share(described, tmp_path / "anna.json", ShareChoice())
    with open_store(begun_at(tmp_path / "new.sqlite3")) as store, served(store) as opened:
        key = key_of(drop(opened, (tmp_path / "anna.json").read_bytes(), "anna.json"))
        text = opened.get(f"share/merge/{key}/").get_data(as_text=True)
        assert f"that of {anna.shown}" in text
        opened.follow(opened.post(f"share/merge/{key}/"))
        assert owners(opened)["C-02"] == anna.shown
