"""A site of 300 airframes and 3,000 points: progress, and every page there."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import fleetcal
from tests.publish.site_store import run
from tests.store_places import store_at

pytestmark = pytest.mark.long

AIRFRAMES = 300
PORTS = ("wing boom", "tail-boom flush pair", "mid-fuselage raised disc pair")
ENGINES = ("75 kW four", "100 kW turbo four")


def fleet_toml(airframes: int = AIRFRAMES) -> str:
    """Three ports and two engines; every tenth airframe changed its engine."""
    lines = ["[[type]]", 'name = "Corrie 2"', "reference_weight_kg = 600.0"]
    lines += ["scaling_speed_kt = 45.0"]
    for port in PORTS:
        lines += ["[[type.static_source]]", f'name = "{port}"']
    for engine in ENGINES:
        lines += ["[[engine]]", f'name = "{engine}"']
    lines += ["[[propeller]]", 'name = "two-blade fixed"']
    for number in range(airframes):
        lines += ["[[airframe]]", f'tag = "C-{number:03d}"', 'type = "Corrie 2"']
        for change in range(2 if number % 10 == 0 else 1):
            lines += ["[[airframe.fit]]", f"from = {2015 + 7 * change}-04-01"]
            lines += [f'static_source = "{PORTS[number % 3]}"', 'propeller = "two-blade fixed"']
            lines += [f'engine = "{ENGINES[(number + change) % 2]}"']
    return "\n".join(lines) + "\n"


def points_csv(airframes: int = AIRFRAMES) -> str:
    """Two sorties of five points for every airframe, before and after the change."""
    rng = np.random.default_rng(5)
    lines = [
        "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,"
        "kappa,u_kappa,u_shared_kappa"
    ]
    for number in range(airframes):
        level = (0.04, -0.05, 0.01)[number % 3] + 0.01 * rng.normal()
        for sortie, day in (("a", "2020-03-05"), ("b", "2023-03-05")):
            together = 0.004 * rng.normal()
            for speed in (65.0, 80.0, 95.0, 110.0, 125.0):
                kappa = level + 0.1 * ((45.0 / speed) ** 2 - 0.25) + together
                kappa += 0.006 * rng.normal()
                lines.append(
                    f"C-{number:03d},{day},{sortie},600,{speed},3500,{kappa:.6f},0.0072,0.004"
                )
    return "\n".join(lines) + "\n"


def test_a_large_fleet_is_written_with_progress(tmp_path: Path) -> None:
    store = tmp_path / "store.sqlite3"
    (tmp_path / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    (tmp_path / "points.csv").write_text(points_csv(), encoding="utf-8")
    run(store, "fleet", "load", tmp_path / "fleet.toml")
    run(store, "points", "import", tmp_path / "points.csv")
    done = subprocess.run(
        [
            *(sys.executable, "-m", "fleetcal", "--store", store_at(store)),
            *("publish", "--site", "--out", str(tmp_path / "site")),
        ],
        cwd=Path(fleetcal.__file__).parents[1],
        capture_output=True,
        text=True,
        check=True,
    )
    print(f"\n{done.stderr}")
    assert len(list((tmp_path / "site").rglob("*.html"))) == 1 + 6 + AIRFRAMES + 2 * AIRFRAMES
    assert "fitting Corrie 2" in done.stderr
    assert re.search(r"airframe \d+ of 300", done.stderr)
    assert re.search(r"[\d.]+ ms a page", done.stderr)
