"""Random changes of a store are all taken back; many more chains are run by the command."""

from pathlib import Path

import pytest

from tests.attacks.undo_chains import Chain, begin, run_chain

pytestmark = [pytest.mark.long, pytest.mark.file_store("each chain has a folder of its own")]


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return begin(tmp_path_factory.mktemp("chains") / "begun")


@pytest.mark.parametrize("seed", [1, 2])
def test_what_was_there_before_is_there_again(begun: Path, tmp_path: Path, seed: int) -> None:
    chain = run_chain(begun, tmp_path / "chain", seed, length=6)
    assert chain.wrong == []
    assert chain.undone > 0


def test_a_difference_is_noticed(
    begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tests.attacks.undo_chains._take_back", _nothing_taken_back)
    assert run_chain(begun, tmp_path / "chain", 2, length=3).wrong


def _nothing_taken_back(chain: Chain, place: str) -> object:
    class Refused:
        exit_code, output = 4, "refused"

    return Refused()
