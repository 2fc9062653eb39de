"""A small fleet in a store with flights, a handbook, an issue and names that would do harm."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
from click.testing import CliRunner

import fleetcal
from fleetcal.cli import main
from tests.store_places import begun_at, change, store_at

EVIL = '=cmd|"/c" <img src=x onerror=alert(1)> \u202e\u0007 &amp; [x](javascript:alert(2))'
LONG = "very " * 60 + "long"
RIGHT_TO_LEFT = "\u05de\u05d8\u05d5\u05e1"
REGISTRATION = "ZZ-QQ9"
PORT, OTHER = "wing boom", "tail-boom flush pair"
ENGINE, TURBO, PROPELLER = "75 kW four", "100 kW turbo four", "two-blade fixed"
TAGS = tuple(f"C-{number:02d}" for number in range(1, 9))


def run(store: Path, *words: object) -> str:
    """Run the program and return what it prints."""
    arguments = ["--store", store_at(store), *map(str, words)]
    result = CliRunner().invoke(main, arguments, prog_name="fleetcal")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0, result.stderr
    return result.stdout


def run_apart(store: Path, *words: object) -> str:
    """Run the program in a process of its own, warnings as errors, and return what it prints."""
    done = subprocess.run(
        [
            sys.executable,
            "-W",
            "error",
            "-m",
            "fleetcal",
            "--store",
            store_at(store),
            *map(str, words),
        ],
        cwd=Path(fleetcal.__file__).parents[1],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def fleet_toml() -> str:
    """Describe one type whose airframes carry one port; the first four change their engine."""
    lines = ["[[type]]", 'name = "Corrie 2"', "reference_weight_kg = 600.0"]
    lines += ["scaling_speed_kt = 45.0"]
    for port in (PORT, OTHER):
        lines += ["[[type.static_source]]", f'name = "{port}"']
    for name in (ENGINE, TURBO):
        lines += ["[[engine]]", f'name = "{name}"']
    lines += ["[[propeller]]", f'name = "{PROPELLER}"']
    for number, tag in enumerate(TAGS):
        registration = REGISTRATION if number == 0 else f"ZZ-{number:03d}"
        lines += ["[[airframe]]", f'tag = "{tag}"', 'type = "Corrie 2"']
        lines += [f'note = "once {REGISTRATION}, seen on 2021-05-14"']
        lines += [f'registration = "{registration}"']
        for since, engine in (("2015-04-01", ENGINE), ("2022-04-01", TURBO))[: 1 + (number < 4)]:
            lines += ["[[airframe.fit]]", f"from = {since}", f'static_source = "{PORT}"']
            lines += [f'engine = "{engine}"', f'propeller = "{PROPELLER}"', 'pitot = "nose"']
    lines += ["[[handbook]]", 'type = "Corrie 2"', f'static_source = "{OTHER}"']
    lines += ['flap_setting = "up"', 'name = "first edition"', "weight_kg = 600.0"]
    lines += ["rows = [[50.0, 60.0], [70.0, 76.0], [90.0, 90.0], [110.0, 106.0], [140.0, 130.0]]"]
    lines += ['speeds = [["stall", 52.0], ["glide", 66.0], ["never exceed", 138.0]]']
    return "\n".join(lines) + "\n"


def points_csv() -> str:
    """Draw two sorties for every airframe, before and after the change; the last one is odd."""
    rng = np.random.default_rng(11)
    lines = ["airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"]
    lines[0] += ",u_shared_kappa"
    for number, tag in enumerate(TAGS):
        level = (
            0.04
            + 0.008 * float(np.clip(rng.normal(), -1.5, 1.5))
            + 0.15 * (number == len(TAGS) - 1)
        )
        for sortie, day in (("a", "2020-03-05"), ("b", "2023-03-07")):
            for speed in (65.0, 80.0, 95.0, 110.0, 125.0):
                kappa = level + 0.1 * ((45.0 / speed) ** 2 - 0.25) + rng.normal(0.0, 0.005)
                lines.append(f"{tag},{day},{sortie},600,{speed},3000,{kappa:.6f},0.006,0.003")
    return "\n".join(lines) + "\n"


def make_store(folder: Path, *, hostile: bool) -> Path:
    """Make a store with the fleet; a hostile one has names that would do harm."""
    store = folder / "store.sqlite3"
    (folder / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(), encoding="utf-8")
    begun_at(store)
    run(store, "fleet", "load", folder / "fleet.toml")
    run(store, "points", "import", folder / "points.csv")
    run(store, "points", "reject", 1, "--reason", f"leak of {REGISTRATION} on 2023-03-09")
    if hostile:
        _rename(store_at(store))
    words = ("publish", PORT, "--issue", "--reason", "first, <b>bold</b>", "--date", "2024-05-06")
    run(store, *words, "--out", folder / "issue")
    return store


def _rename(store: str) -> None:
    """Put names past the program, which would not take some of them, into the store itself."""
    tags = (f"{EVIL} 1", f"{LONG} 2", f"{RIGHT_TO_LEFT} 3", "+4", "-5", "@6", "=7")
    for number, tag in enumerate(tags, 1):
        change(store, "UPDATE airframe SET tag = ? WHERE tag = ?", (tag, TAGS[number - 1]))
    change(store, "UPDATE engine SET name = ? WHERE name = ?", (f"turbo {EVIL}", TURBO))
    change(store, "UPDATE equipment_fit SET pitot = ?", (EVIL,))
    change(store, "UPDATE airframe SET note = ?", (f"{EVIL} {LONG}",))
    change(store, "UPDATE calibration_point SET technique = ? WHERE number = 2", (EVIL,))
    change(store, "UPDATE calibration_point SET reason = ? WHERE NOT accepted", (EVIL,))
    change(store, "UPDATE uncertainty_term SET name = ? WHERE owner <> 'point'", (EVIL,))
    change(store, "UPDATE handbook_curve SET name = ?", (EVIL,))
    change(store, "UPDATE handbook_speed SET name = ? || name", (EVIL,))
