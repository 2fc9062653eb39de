"""A disk without room, in truth (a small disk in memory) and by a limit on the size of files."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click
import pytest

from fleetcal.store.schema_state import NEWEST_REVISION
from tests.store.faults.judging import faults_of, state_of
from tests.store.faults.killing import run_to_the_end
from tests.store.faults.operations import BY_NAME, Bench, run_quietly, run_words, write_inputs
from tests.store.faults.places import Files

_DISK_BYTES = 2**20


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    folder = tmp_path_factory.mktemp("full disk")
    write_inputs(folder / "inputs")
    return Bench(folder / "inputs", Files(folder))


@dataclass(frozen=True)
class Tight:
    """A folder in which files can hardly grow."""

    folder: Path
    limited: bool

    def say(self, room: int, *words: object) -> str:
        """Run a command where so many bytes are left, and return what it says when it fails."""
        filling = self.folder / "filling"
        if not self.limited:
            free = os.statvfs(self.folder)
            filling.write_bytes(b"x" * max(0, free.f_bavail * free.f_frsize - room))
        largest = max((p.stat().st_size for p in self.folder.iterdir()), default=0) + room

        def deed() -> None:
            if self.limited:
                resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
            try:
                run_words(str(self.folder / "store.sqlite3"), [str(word) for word in words])
            except click.ClickException as error:
                error.show()

        said = run_to_the_end(deed, self.folder.parent / "words").said
        filling.unlink(missing_ok=True)
        return said


@pytest.fixture(params=["disk", "limit"])
def tight(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Tight]:
    folder = tmp_path / "tight"
    folder.mkdir()
    if request.param == "limit":
        yield Tight(folder, limited=True)
        return
    mount = ["mount", "-t", "tmpfs", "-o", f"size={_DISK_BYTES}", "tmpfs", str(folder)]
    try:
        subprocess.run(mount, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("no disk can be mounted here; the limit on file sizes stands in for it")
    try:
        yield Tight(folder, limited=False)
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@pytest.fixture
def flown(bench: Bench, tight: Tight) -> str:
    """A store with points, in the tight folder."""
    original = Path(bench.places.empty("flown"))
    if not original.exists():
        BY_NAME["merge"].original(bench)
    return str(shutil.copy(original, tight.folder / "store.sqlite3"))


def full(said: str) -> bool:
    return "the disk is full" in said or "the disk refused" in said or "No space" in said


@pytest.mark.long
@pytest.mark.parametrize("room", [0, 8192, 32768])
def test_an_import_and_a_merge_lose_nothing_and_succeed_once_there_is_room(
    tight: Tight, flown: str, bench: Bench, room: int
) -> None:
    before = state_of(flown)
    for words in (
        ("points", "import", bench.inputs / "more.csv"),
        ("merge", bench.inputs / "theirs.json"),
    ):
        said = tight.say(room, *words)
        assert full(said), said
        assert f"Error: {flown}" in said
        assert "nothing was stored" in said
        assert state_of(flown) == before
        assert faults_of(flown) == []
        assert os.listdir(tight.folder) == ["store.sqlite3"]
    run_quietly(flown, "points", "import", bench.inputs / "more.csv")
    assert state_of(flown) != before


@pytest.mark.parametrize("words", [("store", "backup"), ("share",), ("points", "list")])
def test_a_copy_that_finds_no_room_is_named_and_leaves_nothing(
    tight: Tight, flown: str, words: tuple[str, ...]
) -> None:
    target = tight.folder / "copy"
    limited_room = 8192 - Path(flown).stat().st_size if tight.limited else 8192
    said = tight.say(limited_room, *words, "--out", target)
    assert f"Error: cannot write {target}" in said, said
    assert "Hint: give" in said
    assert os.listdir(tight.folder) == ["store.sqlite3"]


@pytest.mark.long
def test_an_upgrade_that_finds_no_room_leaves_the_older_store(tight: Tight, bench: Bench) -> None:
    original = Path(bench.places.empty("older"))
    if not original.exists():
        BY_NAME["upgrade"].original(bench)
    place = tight.folder / "store.sqlite3"
    shutil.copy(original, place)
    before = place.read_bytes()
    said = tight.say(4096, "points", "list")
    assert full(said), said
    assert place.read_bytes() == before
    kept = {f"store.sqlite3.before-{NEWEST_REVISION}"}  # whole, where there was room for it
    assert set(os.listdir(tight.folder)) - kept == {"store.sqlite3"}
    run_quietly(str(place), "points", "list")
    assert faults_of(str(place)) == []


def test_a_place_that_cannot_be_written_is_told_and_not_the_store(
    bench: Bench, tmp_path: Path
) -> None:
    folder = tmp_path / "a file"
    folder.write_text("")
    place = bench.places.empty("flown")
    if not Path(place).exists():
        BY_NAME["merge"].original(bench)
    with pytest.raises(click.ClickException, match="folder does not exist"):
        run_quietly(place, "store", "backup", "--out", folder / "copy")
    (tmp_path / "copy-journal").write_text("of another store")
    with pytest.raises(click.ClickException, match="journal of another store is there"):
        run_quietly(place, "store", "backup", "--out", tmp_path / "copy")
    assert not (tmp_path / "copy").exists()
