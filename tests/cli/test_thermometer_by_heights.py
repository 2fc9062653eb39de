"""A thermometer held against satellite and pressure height: printed, taken off, kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program
from tests.cli.invented_sortie import (
    FT,
    Card,
    Sortie,
    Truth,
    as_light_as_k,
    fly,
    log_text,
    pressure_pa,
)
from tests.store_places import opened

WHO = ("--airframe", "C-01", "--weight-kg", "580")
AIR = ("--temperature-shows", "probe", "--recovery-factor", "0.8", "--humidity-pct", "55")
SATELLITE = "GPS altitude (m)"
HIGH = Card(airspeeds_kt=(110.0,), altitude_ft=9000.0, climb_s=1200)
WARM = Truth(
    kappa=0.03,
    warmer_than_standard_k=12.0,
    temperature_bias_k=5.0,
    humidity=0.55,
    roughness=0.3,
)


def satellite_m(sortie: Sortie, seed: int = 4) -> np.ndarray:
    """Height of the air's pressures, summed up from its densities, with a receiver's slow error."""
    altitude = sortie.altitude_ft * FT
    warm = 288.15 - 0.0065 * altitude + sortie.truth.warmer_than_standard_k
    light = as_light_as_k(warm, pressure_pa(altitude), sortie.truth.humidity)
    ratio = light / (288.15 - 0.0065 * altitude)
    steps = 0.5 * (ratio[1:] + ratio[:-1]) * np.diff(altitude)
    height = 80.0 + np.concatenate([[0.0], np.cumsum(steps)])
    noise = np.random.default_rng(seed).normal(0.0, 1.5, height.size + 119)
    return np.asarray(height * 1.0003 + np.convolve(noise, np.full(120, 0.1), "valid"))


@pytest.fixture
def written(folder: Path) -> Callable[..., Path]:
    """Write a flight as a log, with or without satellite height."""

    def write(truth: Truth = WARM, card: Card = HIGH, name: str = "", both: bool = True) -> Path:
        sortie = fly(card, truth)
        path = folder / (name or ("both.csv" if both else "one.csv"))
        more = {SATELLITE: satellite_m(sortie)} if both else {}
        path.write_text(log_text(sortie, decimals=(2, 0, 1, 2, 2), more=more), encoding="utf-8")
        return path

    return write


@pytest.fixture
def sure(folder: Path) -> Path:
    """Settings of an altimeter that is right to 2 m, as one just checked may be."""
    path = folder / "sure.toml"
    path.write_text("[uncertainty]\nu_altitude_ft = 6\n", encoding="utf-8")
    return path


def errors_kt(done: dict[str, Any]) -> list[float]:
    """By how much each correction misses what kappa 0.03 makes: 1.5 % of the airspeed."""
    return [float(run["dvpc_kt"] - 0.0149 * run["vic_kt"]) for run in done["runs"]]


def term_note(done: dict[str, Any]) -> str:
    terms = done["runs"][0]["terms"]
    return str(next(t["note"] for t in terms if t["name"] == "outside-air temperature"))


def test_a_thermometer_five_degrees_warm_is_found_and_its_readings_are_put_right(
    program: Program, written: Callable[..., Path], sure: Path
) -> None:
    alone = program.json("reduce", written(both=False), "--preview", *AIR, "--settings", sure)
    done = program.json("reduce", written(), "--preview", *AIR, "--settings", sure)
    (note,) = (n for n in done["notes"] if n.startswith("The thermometer reads"))
    found = float(note.split()[3])
    assert found == pytest.approx(5.0, abs=2.0)
    assert "degC too warm (" in note
    assert "degC is taken off (u " in note
    assert not [n for n in alone["notes"] if "thermometer" in n]
    # five kelvin are 0.95 % of the true airspeed, which passes for position error
    assert np.mean(errors_kt(alone)) == pytest.approx(-1.04, abs=0.2)
    assert abs(np.mean(errors_kt(done))) < 0.35
    assert term_note(alone) == "1 K"
    u = float(note.split("(u ")[1].split()[0])
    assert float(term_note(done).removesuffix(" K")) == pytest.approx(u, abs=0.06)
    (warning,) = (w for w in done["warnings"] if "have it checked" in w)
    assert "more than is supposed of one (u 1.0 degC)" in warning


@pytest.mark.long
def test_what_was_taken_off_is_kept_with_the_sortie_and_its_points_follow(
    program: Program, written: Callable[..., Path], sure: Path
) -> None:
    done = program.json("reduce", written(), *WHO, *AIR, "--settings", sure)
    with opened(program.store) as connection:
        ((kept,),) = connection.execute("SELECT settings_json FROM sortie").fetchall()
        (logged,) = {round(leg["oat_degc"], 1) for leg in done["legs"][:1]}
    temperature = json.loads(kept)["temperature"]
    off = temperature["taken_off_k"]
    assert temperature["reads_too_warm_k"] == pytest.approx(5.0, abs=2.0)
    assert 0.0 < temperature["u_temperature_k"] < 1.5
    first = program.json("reduce", written(both=False), "--preview", *AIR, "--settings", sure)
    assert first["legs"][0]["oat_degc"] - logged == pytest.approx(off, abs=0.06)
    assert program.run("store", "check").exit_code == 0


def test_a_log_without_satellite_height_keeps_nothing_of_a_check(
    program: Program, written: Callable[..., Path]
) -> None:
    program.json("reduce", written(both=False), *WHO, *AIR)
    with opened(program.store) as connection:
        ((kept,),) = connection.execute("SELECT settings_json FROM sortie").fetchall()
    assert set(json.loads(kept)["temperature"]) == {"recovery_factor", "u_recovery_factor", "from"}


def test_settings_that_call_the_thermometer_right_leave_its_readings_alone(
    program: Program, written: Callable[..., Path], folder: Path
) -> None:
    (folder / "right.toml").write_text(
        "[uncertainty]\nu_temperature_k = 0\nu_altitude_ft = 6\n", encoding="utf-8"
    )
    options = ("--preview", *AIR, "--settings", folder / "right.toml")
    alone = program.json("reduce", written(both=False), *options)
    done = program.json("reduce", written(), *options)
    assert done["runs"] == alone["runs"]
    (note,) = (n for n in done["notes"] if n.startswith("The thermometer reads"))
    assert "its readings are left as they are" in note
    assert any("have it checked" in warning for warning in done["warnings"])


def test_a_flight_at_one_height_says_why_its_thermometer_is_not_checked(
    program: Program, written: Callable[..., Path]
) -> None:
    low = Card(airspeeds_kt=(95.0,), altitude_ft=600.0)
    done = program.json("reduce", written(card=low), "--preview", *AIR)
    (note,) = (n for n in done["notes"] if n.startswith("The thermometer"))
    assert "is not checked by satellite height: the flight climbs and descends through" in note
    assert note.endswith("1000 ft needed.")
    without = program.json("reduce", written(card=low, both=False), "--preview", *AIR)
    assert done["runs"] == without["runs"]


@pytest.mark.long
def test_reducing_again_says_that_the_thermometer_is_corrected_now(
    program: Program, written: Callable[..., Path], sure: Path, folder: Path
) -> None:
    (folder / "right.toml").write_text(
        "[uncertainty]\nu_temperature_k = 0\nu_altitude_ft = 6\n", encoding="utf-8"
    )
    log = written()
    program.json("reduce", log, *WHO, *AIR, "--settings", folder / "right.toml")
    same = program.output("reduce", log, "--again")
    assert "thermometer corrected" not in same
    again = " ".join(program.output("reduce", log, "--again", "--settings", sure).split())
    assert "thermometer corrected by 0.0 degC before, thermometer corrected by -" in again


@pytest.mark.long
def test_a_bench_check_of_the_altimeter_goes_before_the_check_of_the_thermometer(
    program: Program, written: Callable[..., Path], sure: Path, folder: Path
) -> None:
    log = written()
    before = program.json("reduce", log, "--preview", *AIR, "--settings", sure)
    # an altimeter that shows 100 ft too little at 9,000 ft: 1.1 %, which is 3 K of 270 K
    (folder / "card.csv").write_text("indicated_ft,correction_ft\n0,0\n9000,100\n")
    words = ("--airframe", "C-01", "--date", "2024-03-01", "--u-ft", 6)
    program.output("bench", "enter", "altimeter", folder / "card.csv", *words)
    after = program.json("reduce", log, *WHO, *AIR)

    def found(done: dict[str, Any]) -> float:
        (note,) = (n for n in done["notes"] if n.startswith("The thermometer reads"))
        return float(note.split()[3])

    assert found(after) - found(before) == pytest.approx(3.0, abs=0.4)
