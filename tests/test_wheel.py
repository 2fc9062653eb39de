"""The wheel as others install it: whole, and able to work away from the repository."""

from __future__ import annotations

import json
import os
import site
import subprocess
import sys
import sysconfig
import venv
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FLEET = """
[[type]]
name = "Corrie 2"
reference_weight_kg = 600.0
scaling_speed_kt = 45.0
[[type.static_source]]
name = "wing boom"
[[engine]]
name = "75 kW four"
[[propeller]]
name = "two-blade fixed"
"""
AIRFRAME = """
[[airframe]]
tag = "C-0{number}"
type = "Corrie 2"
note = "invented"
[[airframe.fit]]
from = 2015-04-01
static_source = "wing boom"
engine = "75 kW four"
propeller = "two-blade fixed"
"""
# Three legs in still air at sea level in the standard atmosphere: true airspeed is the ground
# speed, and an indicator that shows 98 kt at 100 kt reads 2 kt too little.
LEGS = """IAS (kt),pressure altitude (ft),static temperature (degC),ground speed (kt),track (deg)
98.0,0,15.0,100,0
98.0,0,15.0,100,120
98.0,0,15.0,100,240
"""


def run(*words: object, cwd: Path, **variables: str) -> str:
    """Run a program without anything that would lead it back to the repository."""
    kept = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "FLEETCAL_STORE")}
    done = subprocess.run(
        [str(word) for word in words],
        cwd=cwd,
        env={**kept, **variables},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the repository by the tools that are installed."""
    folder = tmp_path_factory.mktemp("wheel")
    run(
        *(sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT),
        cwd=folder,
    )
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with the wheel in it, and what it needs borrowed from this one."""
    place = tmp_path_factory.mktemp("fresh") / "environment"
    venv.create(place, with_pip=False, symlinks=os.name != "nt")
    paths = sysconfig.get_paths(scheme="venv", vars={"base": str(place), "platbase": str(place)})
    python = Path(paths["scripts"]) / Path(sys.executable).name
    install = ("install", "--quiet", "--no-deps", "--offline", "--python", python, wheel)
    run(sys.executable, "-m", "uv", "pip", *install, cwd=place)
    borrowed = {*site.getsitepackages(), sysconfig.get_paths()["platlib"]}
    # A path file adds its lines behind the environment's own packages.
    (Path(paths["purelib"]) / "borrowed.pth").write_text("\n".join(sorted(borrowed)) + "\n")
    return Path(paths["scripts"])


@pytest.fixture
def fleetcal(installed: Path, tmp_path: Path) -> Callable[..., str]:
    """Return a function that runs the installed program in a folder of its own."""
    store = str(tmp_path / "store.sqlite3")
    return lambda *words: run(installed / "fleetcal", *words, cwd=tmp_path, FLEETCAL_STORE=store)


@pytest.mark.long
def test_the_wheel_holds_the_package_and_its_upgrade_steps_and_no_more(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        entry = next(name for name in names if name.endswith("entry_points.txt"))
        assert "fleetcal = fleetcal.cli:main" in archive.read(entry).decode()
    ours = {
        str(path.relative_to(ROOT))
        for path in (ROOT / "fleetcal").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    steps = {
        f"fleetcal/{path.relative_to(ROOT)}"
        for path in (ROOT / "migrations").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert any(step.endswith("env.py") for step in steps)
    assert {name for name in names if ".dist-info/" not in name} == ours | steps
    assert any(name.endswith("licenses/LICENSE") for name in names)


@pytest.mark.long
def test_the_program_comes_from_the_wheel_and_finds_its_upgrade_steps_there(
    installed: Path, tmp_path: Path
) -> None:
    asked = (
        "import fleetcal; from fleetcal.store.upgrade import scripts_folder;"
        "print(fleetcal.__file__); print(scripts_folder())"
    )
    said = run(installed / Path(sys.executable).name, "-c", asked, cwd=tmp_path).split("\n")
    environment = installed.parent
    package = Path(said[0]).parent
    assert package.is_relative_to(environment)
    assert Path(said[1]) == package / "migrations"
    assert not Path(said[0]).is_relative_to(ROOT)


@pytest.mark.long
def test_a_made_up_fleet_is_worked_from_load_to_curve_in_another_folder(
    fleetcal: Callable[..., str], tmp_path: Path
) -> None:
    text = FLEET + "".join(AIRFRAME.format(number=number) for number in (1, 2, 3))
    (tmp_path / "fleet.toml").write_text(text, encoding="utf-8")
    (tmp_path / "legs.csv").write_text(LEGS, encoding="utf-8")
    rows = [
        f"C-0{number},2024-03-05,600,{speed},3000,{0.03 + 0.005 * number:.3f},0.005"
        for number in (1, 2, 3)
        for speed in (70, 90, 110)
    ]
    headings = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"
    (tmp_path / "points.csv").write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    assert "10 added" in fleetcal("fleet", "load", "fleet.toml")
    who = ("--airframe", "C-01", "--weight-kg", "600", "--date", "2024-03-06")
    dry = ("--humidity-pct", "0")  # as the legs were worked out
    done = json.loads(fleetcal("reduce", "legs.csv", *who, *dry, "--format", "json"))
    assert done["stored"] is True
    # Near sea level impact pressure goes with the square of the speed.
    assert done["runs"][0]["kappa"] == pytest.approx((100.0 / 98.0) ** 2 - 1.0, abs=2e-3)
    assert done["runs"][0]["dvpc_kt"] == pytest.approx(2.0, abs=0.05)
    assert "9 points" in fleetcal("points", "import", "points.csv")
    curve = json.loads(fleetcal("curve", "wing boom", "--format", "json"))
    assert (curve["airframes"], curve["points"]) == (3, 10)
    (middle,) = [row for row in curve["rows"] if row["ias_kt"] == 90.0]
    # The mean kappa of the three is 0.04: CAS = IAS*sqrt(1.04).
    assert middle["correction_kt"] == pytest.approx(90.0 * (1.04**0.5 - 1.0), abs=0.3)
    told = fleetcal("publish", "wing boom", "--out", "pages").splitlines()
    assert all((tmp_path / line).stat().st_size > 0 for line in told)
    assert len(told) == 7  # a file for each format


def test_the_version_is_that_of_the_wheel(fleetcal: Callable[..., str], wheel: Path) -> None:
    assert wheel.name.split("-")[1] in fleetcal("--version")
