"""A shell completes airframes, groups, pairings and static sources from the store."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

import fleetcal
from tests.cli.command_line import Program
from tests.cli.invented_fleet import PAIRING, TAIL, WING, fleet_toml
from tests.store_places import begun_at, change

pytestmark = pytest.mark.long

ROOT = Path(fleetcal.__file__).parents[1]
FULL = f"{TAIL} / {PAIRING[0]} / {PAIRING[1]}"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store with an invented fleet."""
    folder = tmp_path_factory.mktemp("completion")
    (folder / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    return program.store


def asked(store: str, words: Sequence[str], shell: str = "zsh") -> subprocess.CompletedProcess[str]:
    """Ask the program as a shell does, the last word being the one that is begun."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "fleetcal"],
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "FLEETCAL_STORE": store,
            "_FLEETCAL_COMPLETE": f"{shell}_complete",
            "COMP_WORDS": "\n".join(("fleetcal", *words)),
            "COMP_CWORD": str(len(words)),
        },
        capture_output=True,
        text=True,
        check=False,
    )


def completed(store: str, *words: str) -> list[str]:
    done = asked(store, words)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.splitlines()[1::3]


def test_what_a_command_takes_is_completed(store: str) -> None:
    assert {"C-01", "C-02"} <= set(completed(store, "standing", "C-0"))
    assert completed(store, "reduce", "log.csv", "--airframe", "c-01") == ["C-01"]
    assert completed(store, "curve", "tail") == [TAIL, FULL]
    assert completed(store, "points", "list", "--static-source", "wing") == [WING]
    assert " / ".join(PAIRING) in completed(store, "curve", "75")
    assert completed(store, "plan", "Q") == []


def test_the_store_of_the_line_goes_before_that_of_the_environment(store: str) -> None:
    assert "C-01" in completed("/nowhere/at/all", "--store", store, "standing", "C-0")
    assert "C-01" in completed("/nowhere/at/all", "standing", "--store", store, "C-0")


def test_bash_gets_names_with_spaces_as_one_word(store: str) -> None:
    told = asked(store, ("curve", "tail"), shell="bash").stdout.splitlines()
    assert told == [f"plain,{name}".replace(" ", "\\\\ ") for name in (TAIL, FULL)]
    assert asked(store, ("curve", '"tail'), shell="bash").stdout.splitlines()[0] == f"plain,{TAIL}"
    read = subprocess.run(
        ["bash", "-c", 'while IFS="," read kind value; do echo "$value"; done'],
        input="\n".join(told) + "\n",
        capture_output=True,
        text=True,
        check=True,
    )
    assert read.stdout.splitlines()[0] == TAIL.replace(" ", "\\ ")


@pytest.mark.file_store("what lies there is a file")
def test_where_nothing_can_be_completed_nothing_is_said_or_changed(
    store: str, tmp_path: Path
) -> None:
    (tmp_path / "text.sqlite3").write_text("no store " * 200)
    for place in (tmp_path / "none.sqlite3", tmp_path / "text.sqlite3", tmp_path):
        assert completed(str(place), "standing", "C") == []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["text.sqlite3"]


@pytest.mark.file_store("an older store is made by a word in its file")
def test_an_older_store_is_not_upgraded_by_a_word_half_typed(tmp_path: Path) -> None:
    (tmp_path / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    program.output("fleet", "load", tmp_path / "fleet.toml")
    change(program.store, "UPDATE fleetcal_revision SET version_num = '0012'")
    before = (tmp_path / "store.sqlite3").read_bytes()
    assert completed(program.store, "standing", "C") == []
    assert (tmp_path / "store.sqlite3").read_bytes() == before
