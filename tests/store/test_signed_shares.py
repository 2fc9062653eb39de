"""A share is signed: whoever changes a byte of it, or signs for another, is found out."""

from __future__ import annotations

import hashlib
import json
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from fleetcal.errors import FleetcalError, MalformedFileError
from fleetcal.services.sharing.share_format import read_share
from fleetcal.services.sharing.share_store import ShareChoice
from fleetcal.store import Store, open_store, reject_points
from fleetcal.store.exchange.entries import canonical
from tests.store.invented_shares import LATER, fill, signing_as, with_contents, write_share
from tests.store_places import begun_at

ALL = ShareChoice(registrations=True)


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("signed")
    with open_store(begun_at(folder / "store.sqlite3")) as store:
        fill(store)
        with signing_as("Anna Berg"):
            return write_share(store, folder / "anna.json", ALL).read_bytes()


def resealed(document: dict[str, Any]) -> bytes:
    """Give a changed document the checksum that fits it; the signature stays."""
    digest = hashlib.sha256(canonical(document["contents"]).encode()).hexdigest()
    return json.dumps({**document, "sha256": digest}).encode()


def test_a_share_says_who_signed_it_and_holds_no_private_key(signed: bytes) -> None:
    with signing_as("Anna Berg") as anna:
        private = json.loads(Path(os.environ["FLEETCAL_KEY"]).read_text())["private_key"]
    found = read_share(signed, "anna.json", LATER)
    assert found.signer == anna
    assert private.encode() not in signed
    assert anna.shown.startswith("Anna Berg (key ")


def test_any_changed_value_breaks_the_signature(signed: bytes) -> None:
    tried = 0
    for kind in json.loads(signed)["contents"]["things"]:
        document = json.loads(signed)
        entries = document["contents"]["things"][kind]
        if not entries:
            continue
        entries.pop()
        with pytest.raises(MalformedFileError, match=r"changed after it was signed by Anna Berg"):
            read_share(resealed(document), "changed.json", LATER)
        tried += 1
    assert tried > 10


@pytest.mark.parametrize("flipped", range(0, 128, 16))
def test_a_changed_signature_is_refused(signed: bytes, flipped: int) -> None:
    document = json.loads(signed)
    digits = list(document["signature"])
    digits[flipped] = format(int(digits[flipped], 16) ^ 1, "x")
    document["signature"] = "".join(digits)
    with pytest.raises(MalformedFileError, match="changed after it was signed"):
        read_share(json.dumps(document).encode(), "changed.json", LATER)


def test_a_signature_does_not_fit_another_name_or_key(signed: bytes) -> None:
    with signing_as("Bo Lind") as bo:
        pass
    for changes in ({"name": "Bo Lind"}, {"key": bo.key}):
        document = json.loads(signed)
        document["contents"]["signed_by"].update(changes)
        with pytest.raises(MalformedFileError, match="changed after it was signed"):
            read_share(resealed(document), "changed.json", LATER)


def test_a_share_without_its_signature_is_nobodys_word(signed: bytes) -> None:
    document = json.loads(signed)
    stripped = with_contents(document, document["contents"])
    assert read_share(stripped, "stripped.json", LATER).signer is None
    document["signature"] = ""
    with pytest.raises(MalformedFileError, match="says who signed it, and has no signature"):
        read_share(json.dumps(document).encode(), "stripped.json", LATER)


def test_a_file_of_an_older_version_is_read_as_signed_by_nobody(signed: bytes) -> None:
    document = json.loads(signed)
    older = with_contents({**document, "version": 3}, document["contents"])
    found = read_share(older, "older.json", LATER)
    assert found.signer is None
    assert found.entries == read_share(signed, "anna.json", LATER).entries


@pytest.mark.parametrize(("ahead", "refused"), [(9, False), (11, True), (1200, True)])
def test_a_decision_later_than_now_is_refused(
    tmp_path: Path, begun_file: Path, ahead: int, refused: bool
) -> None:
    path = tmp_path / "ahead.sqlite3"
    path.write_bytes(begun_file.read_bytes())
    with open_store(path) as store:
        fill(store)
        _decide(store, ahead)
        raw = write_share(store, tmp_path / "share.json", ALL).read_bytes()
    if not refused:
        assert read_share(raw, "share.json", LATER).signer is not None
        return
    with pytest.raises(FleetcalError, match="has a time that is still to come") as told:
        read_share(raw, "share.json", LATER)
    assert "this computer's clock says 2024-08-01 00:00:00" in told.value.message
    assert "set the clock" in told.value.hint


def _decide(store: Store, ahead: int) -> None:
    with store.writing() as session:
        reject_points(session, [1], "loose", LATER + timedelta(minutes=ahead))
