"""The season of one airframe of the demonstration, and the watch on it."""

from __future__ import annotations

from pathlib import Path

import pytest

from seed_demo.description import fleet_toml
from seed_demo.fleet import build_fleet
from seed_demo.season import FIRST_LEAKING, FLIGHTS, SEASON_TAG, season_text, season_verdict
from tests.cli.command_line import Program
from tests.store_places import begun_at


@pytest.mark.any_store("reads by queries that other tests send")
def test_the_watch_finds_the_planted_leak(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "season.sqlite3"))
    (tmp_path / "fleet.toml").write_text(fleet_toml(build_fleet()), encoding="utf-8")
    (tmp_path / "season.csv").write_text(season_text(build_fleet()), encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "season.csv")
    found = program.json("watch", SEASON_TAG)
    assert len(found["flights"]) == FLIGHTS
    (change,) = found["changes"]
    assert change["perhaps_after_flight"] <= FIRST_LEAKING - 1 < change["perhaps_before_flight"]
    assert season_verdict(found).startswith("planted: a leak between flights 10 and 11; found: ")


def test_a_season_without_a_finding_says_so() -> None:
    assert season_verdict({"changes": []}).endswith("found: nothing")
