"""A store of a small fleet, and the log of a flight, as the tests of the command line have them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program
from tests.cli.conftest import FEW, folder, wide_lines
from tests.cli.invented_fleet import fleet_toml, points_csv
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store_places import begun_at, copy_store

__all__ = ["folder", "wide_lines"]

LIMITS = "stall_speed_clean_kt = 46.0\nmanoeuvring_speed_kt = 95.0\nnever_exceed_kt = 141.0\n"
SPEEDS_KT = (70.0, 95.0, 120.0)


def later_points(moved: float) -> str:
    """Two later sorties of C-01, its error moved in kappa."""
    rng = np.random.default_rng(3)
    lines = ["airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"]
    for sortie in ("c", "d"):
        for speed in SPEEDS_KT:
            kappa = moved + rng.normal(0.0, 0.007)
            lines.append(f"C-01,2024-08-01,{sortie},560,{speed},3500,{kappa:.6f},0.007")
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="session")
def few_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store of nine airframes, C-03 odd and C-01 changed in 2024."""
    folder = tmp_path_factory.mktemp("few")
    fleet = fleet_toml(FEW).replace("scaling_speed_kt", f"{LIMITS}scaling_speed_kt", 1)
    (folder / "fleet.toml").write_text(fleet, encoding="utf-8")
    points = points_csv(FEW, {"C-03": 0.15}, speeds_kt=SPEEDS_KT)
    (folder / "points.csv").write_text(points, encoding="utf-8")
    (folder / "later.csv").write_text(later_points(0.1), encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    for name in ("points.csv", "later.csv"):
        program.output("points", "import", folder / name)
    return program.store


@pytest.fixture(scope="session")
def flight_text() -> str:
    """The log of a flight at four airspeeds, kappa 0.03."""
    card = Card(airspeeds_kt=(70.0, 85.0, 100.0, 120.0))
    return log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=1))


@pytest.fixture
def log(folder: Path, flight_text: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(flight_text, encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def few(few_file: str) -> Program:
    """The program on that store, which is only read."""
    return Program(few_file)


@pytest.fixture
def own(few_file: str, folder: Path) -> Program:
    """The program on a copy of that store, to be written to."""
    return Program(copy_store(few_file, folder / "store.sqlite3"))
