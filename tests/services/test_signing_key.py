"""The key that signs shares: made once, closed to others, in no store and no share."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fleetcal.errors import DataError, MalformedFileError
from fleetcal.services.sharing.signing_key import name_signer, own_signer, signer_by_need

SEED = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
PUBLIC = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
#: Of the empty message: the first test vector of RFC 8032.
SIGNED = (
    "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
    "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "kept" / "key.json"
    monkeypatch.setenv("FLEETCAL_KEY", str(path))
    return path


def test_a_key_is_made_by_need_once_and_only_its_owner_can_read_it(place: Path) -> None:
    assert own_signer() is None
    first = signer_by_need()
    assert signer_by_need() == first
    assert place.stat().st_mode & 0o777 == 0o600
    assert [one.name for one in place.parent.iterdir()] == ["key.json"]
    assert name_signer("Anna Berg").key == first.person.key
    assert signer_by_need().person.name == "Anna Berg"
    assert place.stat().st_mode & 0o777 == 0o600


def test_the_key_signs_as_the_standard_says(place: Path) -> None:
    place.parent.mkdir()
    kept = {"format": "fleetcal signing key", "name": "", "private_key": SEED}
    place.write_text(json.dumps(kept))
    place.chmod(0o600)
    signer = signer_by_need()
    assert signer.person.key == PUBLIC
    assert signer.sign(b"") == SIGNED
    assert SEED not in repr(signer)


def test_a_key_that_others_can_read_is_refused(place: Path) -> None:
    signer_by_need()
    place.chmod(0o640)
    with pytest.raises(DataError, match="others can read this key"):
        own_signer()


@pytest.mark.parametrize("damage", ["", "{}", "[]", '{"format": "fleetcal signing key"}', "\xff"])
def test_a_damaged_key_is_refused_and_stays_as_it_is(place: Path, damage: str) -> None:
    signer_by_need()
    place.write_text(damage)
    with pytest.raises(MalformedFileError, match="no signing key"):
        signer_by_need()
    assert place.read_text() == damage


@pytest.mark.parametrize("name", ["", " ", "two\nlines", "x" * 81, " Anna"])
def test_what_is_no_name_is_refused(place: Path, name: str) -> None:
    with pytest.raises(DataError, match="is no name"):
        name_signer(name)
    assert not place.exists()


def test_a_key_that_cannot_be_kept_is_explained(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("FLEETCAL_KEY", str(tmp_path / "file" / "key.json"))
    with pytest.raises(DataError, match="cannot keep a signing key"):
        signer_by_need()
