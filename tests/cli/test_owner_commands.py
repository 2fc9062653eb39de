"""Owners seen, said and handed over by commands."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.store.invented_shares import signing_as


@pytest.fixture
def own_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "own" / "key.json"
    monkeypatch.setenv("FLEETCAL_KEY", str(path))
    return path


def owners(program: Program) -> dict[str, str]:
    return {row["name"]: row["owner"] for row in program.json("owners", "list")["lines"]}


def test_owners_are_listed_before_anything_was_signed(flown: Program, own_key: Path) -> None:
    found = flown.output("owners", "list")
    assert "Nothing was signed here yet" in found
    assert set(owners(flown).values()) == {"this store", "nobody"}
    assert not own_key.exists()


def test_airframes_of_this_store_are_counted_and_others_listed(
    flown: Program, own_key: Path
) -> None:
    tags = [row["name"] for row in flown.json("owners", "list")["lines"] if row["of"] == "airframe"]
    found = flown.output("owners", "list")
    assert f"All {len(tags)} airframes: this store." in found
    assert "C-01" not in found
    flown.output("owners", "set", "C-01", "--nobody")
    found = flown.output("owners", "list")
    assert f"{len(tags) - 1} of {len(tags)} airframes: this store." in found
    (line,) = [one for one in found.splitlines() if "C-01" in one]
    assert line.split()[:3] == ["airframe", "C-01", "nobody"]
    assert "C-02" not in found
    assert set(tags) <= set(owners(flown))  # programs are told of each
    flown.output("owners", "set", *tags, "--nobody")
    assert "this store" not in flown.output("owners", "list")


def test_an_airframe_is_handed_over_and_taken_back(flown: Program, own_key: Path) -> None:
    with signing_as("Anna Berg") as anna:
        pass
    found = flown.output("owners", "set", "C-01", "--key", anna.key)
    assert found == f"The owner of C-01 is key {anna.mark}.\n"
    assert owners(flown)["C-01"] == f"key {anna.mark}"
    flown.output("owners", "set", "C-02", "--key", anna.mark)
    flown.output("owners", "set", "C-03", "--nobody")
    assert [owners(flown)[tag] for tag in ("C-02", "C-03", "C-04")] == [
        f"key {anna.mark}",
        "nobody",
        "this store",
    ]
    flown.output("owners", "set", "C-01", "C-03", "--mine")
    assert [owners(flown)[tag] for tag in ("C-01", "C-03")] == ["this store", "this store"]
    assert not own_key.exists()  # nothing was signed


def test_a_type_gets_a_coordinator_who_may_decide(flown: Program, own_key: Path) -> None:
    assert "Anna Berg" in flown.output("owners", "name", "Anna Berg")
    kind = next(row["name"] for row in flown.json("owners", "list")["lines"])
    said = flown.output("owners", "set", "--type", kind, "--mine", "--decides")
    assert said.startswith(f"The coordinator of {kind} is Anna Berg (key ")
    assert said.endswith("who signs here, also for its airframes.\n")
    row = flown.json("owners", "list")["lines"][0]
    assert (row["decides"], row["public_key"]) == (True, flown.json("owners", "list")["public_key"])
    assert flown.output("owners", "set", "--type", kind, "--nobody").endswith("is nobody.\n")


@pytest.mark.parametrize(
    ("words", "exit_code", "named"),
    [
        (("C-01",), 2, "--mine"),
        (("C-01", "--mine", "--nobody"), 2, "--mine"),
        (("--mine",), 2, "--type"),
        (("C-01", "--mine", "--decides"), 2, "--decides"),
        (("C-99", "--mine"), 35, "C-99"),
        (("C-01", "C-99", "--nobody"), 35, "C-99"),
        (("--type", "Heron", "--mine"), 35, "Heron"),
        (("C-01", "--key", "1a2b-3c4d"), 3, "1a2b-3c4d"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(
    flown: Program, own_key: Path, words: tuple[str, ...], exit_code: int, named: str
) -> None:
    before = owners(flown)
    result = flown.run("owners", "set", *words)
    if exit_code == 2:
        assert result.exit_code == 2
        assert named in result.stderr
    else:
        assert_explained(result, exit_code, named)
    assert owners(flown) == before


def test_a_share_says_whose_its_airframes_are(flown: Program, folder: Path, own_key: Path) -> None:
    with signing_as("Anna Berg") as anna:
        pass
    flown.output("owners", "set", "C-01", "--key", anna.key)
    flown.output("owners", "set", "C-02", "--nobody")
    flown.output("share", "--out", folder / "share.json")
    contents = json.loads((folder / "share.json").read_text())["contents"]
    said = {row["what"]: row["person"]["key"] for row in contents["owners"]}
    own = contents["signed_by"]["key"]
    assert (said["C-01"], "C-02" in said, said["C-03"]) == (anna.key, False, own)
    private = json.loads(Path(os.environ["FLEETCAL_KEY"]).read_text())["private_key"]
    assert private not in (folder / "share.json").read_text()


def test_a_share_with_a_key_that_others_can_read_is_refused(
    flown: Program, folder: Path, own_key: Path
) -> None:
    flown.output("share", "--out", folder / "share.json")
    own_key.chmod(0o644)
    result = flown.run("share", "--out", folder / "second.json")
    assert_explained(result, 3, "others can read this key")
    assert "chmod 600" in result.stderr.splitlines()[1]
    assert not (folder / "second.json").exists()
