"""Stores to work on: with a fleet only, and with a fleet and its points."""

from __future__ import annotations

import os

# As the program does it, and likewise before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import GROUPS, SMALL_GROUP, fleet_toml, points_csv
from tests.cli.invented_sortie import Truth, fly, log_text
from tests.store_places import begun_at, copy_store

EVERY_GROUP = (*GROUPS, SMALL_GROUP)
FEW = (replace(GROUPS[0], airframes=6), SMALL_GROUP)
ODD = {"C-03": 0.15, "C-14": -0.09}


@pytest.fixture(scope="package", autouse=True)
def wide_lines() -> Iterator[None]:
    """Lines so long that no sentence is wrapped and no column left out; others test the width."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "1000")
        patch.setattr("fleetcal.cli.prose.WIDEST_PROSE", 1000)
        yield


@pytest.fixture(scope="session")
def begun_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store that knows the fleet and no flight."""
    folder = tmp_path_factory.mktemp("begun")
    (folder / "fleet.toml").write_text(fleet_toml(EVERY_GROUP), encoding="utf-8")
    store = begun_at(folder / "store.sqlite3")
    Program(store).output("fleet", "load", folder / "fleet.toml")
    return store


@pytest.fixture(scope="session")
def flown_file(begun_file: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store with points of every airframe, two of which are odd."""
    folder = tmp_path_factory.mktemp("flown")
    store = copy_store(begun_file, folder / "store.sqlite3")
    (folder / "points.csv").write_text(points_csv(EVERY_GROUP, ODD), encoding="utf-8")
    Program(store).output("points", "import", folder / "points.csv")
    return store


@pytest.fixture(scope="session")
def few_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store of nine airframes, one of them odd; quickly fitted."""
    folder = tmp_path_factory.mktemp("few")
    store = begun_at(folder / "store.sqlite3")
    (folder / "fleet.toml").write_text(fleet_toml(FEW), encoding="utf-8")
    points = points_csv(FEW, {"C-03": 0.15}, speeds_kt=(70.0, 95.0, 120.0))
    (folder / "points.csv").write_text(points, encoding="utf-8")
    program = Program(store)
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return store


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with nothing in it but the store."""
    path = tmp_path / "with a space"
    path.mkdir()
    return path


@pytest.fixture
def program(begun_file: str, folder: Path) -> Program:
    """The program on a store with a fleet and no flight."""
    return Program(copy_store(begun_file, folder / "store.sqlite3"))


@pytest.fixture
def flown(flown_file: str, folder: Path) -> Program:
    """The program on a store with points of every airframe."""
    return Program(copy_store(flown_file, folder / "store.sqlite3"))


@pytest.fixture(scope="session")
def rough_log() -> str:
    """A log of a flight in rough air, kappa 0.05."""
    return log_text(fly(truth=Truth(kappa=0.05, roughness=1.0)))
