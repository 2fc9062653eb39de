"""Sharing and merging through the commands, as a person sees them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fleetcal.services.sharing.shape import VERSION
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_fleet import GROUPS, SMALL_GROUP, TAIL, fleet_toml
from tests.store_places import store_at


@pytest.fixture
def shared(flown: Program, folder: Path) -> Path:
    path = folder / "shared.json"
    flown.output("share", "--out", path)
    return path


@pytest.mark.long
def test_a_shared_store_gives_the_same_curve_elsewhere(
    flown: Program, shared: Path, folder: Path
) -> None:
    other = Program(store_at(folder / "other.sqlite3"))
    done = other.json("merge", shared)
    assert (done["kind"], done["stored"], done["conflicts"]) == ("merged", True, [])
    assert other.json("curve", TAIL)["rows"] == flown.json("curve", TAIL)["rows"]
    before = folder_content(folder)
    assert other.json("merge", shared)["added"] == 0
    assert folder_content(folder) == before


def test_what_was_shared_is_counted(flown: Program, folder: Path) -> None:
    told = flown.json(
        "share", "--out", folder / "part.json", "--airframe", "C-01", "--airframe", "C-02"
    )
    counts = {row["kind"]: row["things"] for row in told["counts"]}
    assert (counts["airframe"], counts["flights"], counts["file"]) == (2, 2, 1)


@pytest.mark.long
def test_conflicts_are_listed_and_settled_by_number(flown: Program, folder: Path) -> None:
    toml = folder / "fleet.toml"
    other = Program(store_at(folder / "other.sqlite3"))
    flown.output("share", "--out", folder / "all.json", "--airframe", "C-01")
    toml.write_text(
        fleet_toml((*GROUPS, SMALL_GROUP)).replace('note = "invented"', 'note = "ours"', 1)
    )
    other.output("fleet", "load", toml)
    before = folder_content(folder)
    result = other.run("merge", folder / "all.json")
    assert result.exit_code == 39
    assert "theirs: note invented" in result.stdout
    assert result.stderr.splitlines()[0].endswith("1 conflicts are open; nothing was stored")
    assert folder_content(folder) == before
    preview = other.json("merge", folder / "all.json", "--preview")
    (conflict,) = preview["conflicts"]
    choice = f"{conflict['conflict']}=mine"
    done = other.json("merge", folder / "all.json", "--choose", choice)
    assert (done["stored"], done["conflicts"][0]["chosen"]) == (True, "mine")
    assert other.json("merge", folder / "all.json")["conflicts"] == []


def test_a_preview_stores_nothing(program: Program, flown_file: str, folder: Path) -> None:
    Program(flown_file).output("share", "--out", folder / "s.json")
    before = folder_content(folder)
    told = program.json("merge", folder / "s.json", "--preview")
    assert (told["stored"], told["added"] > 20) == (False, True)
    assert folder_content(folder) == before


def test_unknown_names_are_refused(flown: Program, folder: Path) -> None:
    target = folder / "x.json"
    assert_explained(flown.run("share", "--out", target, "--airframe", "C-99"), 35, "C-99")
    assert_explained(flown.run("share", "--out", target, "--type", "Corrie 3"), 35, "Corrie 3")
    assert not target.exists()


@pytest.mark.parametrize(
    ("raw", "exit_code", "named"),
    [
        (b"", 31, "empty"),
        (b"\xff\xfe", 32, "text"),
        (b"{", 34, "line 1, column 2"),
        (b"[]", 34, "not a share file"),
        (b'{"format": "fleetcal share"}', 34, f"version {VERSION}"),
        (b'{"format": "fleetcal share", "version": 99}', 34, "version 99"),
        (b'{"a": 1, "a": 2}', 34, "twice"),
        (b'{"a": NaN}', 34, "NaN"),
        (b"[" * 100_000, 34, "nested"),
        (b'{"a": ' + b"9" * 5000 + b"}", 34, "bad.json"),
    ],
)
def test_what_is_no_share_file_is_refused(
    program: Program, folder: Path, raw: bytes, exit_code: int, named: str
) -> None:
    (folder / "bad.json").write_bytes(raw)
    before = folder_content(folder)
    assert_explained(program.run("merge", folder / "bad.json"), exit_code, "bad.json", named)
    assert folder_content(folder) == before


def test_a_missing_file_is_named(program: Program, folder: Path) -> None:
    assert_explained(program.run("merge", folder / "none.json"), 3, "none.json")


def test_a_file_that_was_changed_is_refused(program: Program, shared: Path, folder: Path) -> None:
    document = json.loads(shared.read_text())
    document["contents"]["things"]["engine"] = []
    (folder / "bad.json").write_text(json.dumps(document))
    assert_explained(program.run("merge", folder / "bad.json"), 34, "bad.json", "checksum")
