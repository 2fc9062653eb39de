"""Attacks on the history by one command: each is refused or found, and none for nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.attacks.history import flips
from tests.attacks.history_on_file import FILE_ATTACKS
from tests.attacks.history_on_server import SERVER_ATTACKS, Attacked, club_on
from tests.attacks.undo_chains import begin
from tests.store.faults.judging import faults_of

pytestmark = pytest.mark.any_store("has stores of its own")


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return begin(tmp_path_factory.mktemp("attacked") / "begun") / "club.sqlite3"


@pytest.fixture
def place(begun: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "club.sqlite3"
    copy.write_bytes(begun.read_bytes())
    return copy


@pytest.fixture
def club(postgres_url: str, begun: Path) -> Iterator[Attacked]:
    with club_on(postgres_url, begun) as made:
        yield made


@pytest.mark.long
def test_the_store_that_is_attacked_has_no_fault_before(place: Path, club: Attacked) -> None:
    assert faults_of(str(place)) == []
    assert faults_of(club.owner) == []


@pytest.mark.long
@pytest.mark.parametrize("name", FILE_ATTACKS)
def test_an_attack_on_a_file_is_refused_or_found(name: str, place: Path) -> None:
    assert FILE_ATTACKS[name](place)


@pytest.mark.long
@pytest.mark.parametrize("name", SERVER_ATTACKS)
def test_an_attack_on_a_server_is_refused_or_found(name: str, club: Attacked) -> None:
    assert SERVER_ATTACKS[name](club)


@pytest.mark.parametrize("stale", [False, True])
def test_flipped_bits_are_found_whether_the_seal_is_valid_or_stale(
    begun: Path, *, stale: bool
) -> None:
    tried = flips(begun, 6, stale=stale, seed=4)
    assert (tried.tries, tried.unfound) == (6, ())
