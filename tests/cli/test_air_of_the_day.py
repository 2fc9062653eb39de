"""Humidity, and what a temperature display shows: taken as said, printed, asked for, kept."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import SMALL_GROUP, fleet_toml
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store_places import begun_at, change, opened

WHO = ("--airframe", "C-01", "--weight-kg", "580")
FINE = (5, 4, 5, 5, 5)
HOT = Truth(kappa=0.0, warmer_than_standard_k=17.0, humidity=0.6)
CARD = Card(airspeeds_kt=(100.0,), altitude_ft=3000.0)


@pytest.fixture
def written(folder: Path) -> Callable[..., Path]:
    """Write a flight as a log."""

    def write(truth: Truth = HOT, name: str = "flight.csv", **options: Any) -> Path:
        path = folder / name
        path.write_text(log_text(fly(CARD, truth), decimals=FINE, **options), encoding="utf-8")
        return path

    return write


@pytest.fixture
def silent(folder: Path) -> Program:
    """A store whose airframes do not tell what their displays show."""
    (folder / "fleet.toml").write_text(
        fleet_toml((SMALL_GROUP,)).replace('temperature_shows = "probe"\n', "")
    )
    program = Program(begun_at(folder / "silent.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    return program


def correction(done: dict[str, Any]) -> float:
    (run,) = done["runs"]
    return float(run["dvpc_kt"])


def term(done: dict[str, Any], name: str) -> dict[str, Any]:
    (run,) = done["runs"]
    return next(t for t in run["terms"] if t["name"] == name)


def said(program: Program, *words: object) -> str:
    return " ".join(program.output(*words).split())


# 0.41 kt of false correction at 100 kt, 3,000 ft, 26 degrees and 60 %: computed from the
# defining equations outside of this program.
def test_a_perfect_port_in_moist_air_has_no_error_and_dry_air_would_give_it_one(
    program: Program, written: Callable[..., Path]
) -> None:
    log = written()
    moist = program.json(
        "reduce", log, "--preview", "--temperature-shows", "probe", "--humidity-pct", "60"
    )
    assert correction(moist) == pytest.approx(0.0, abs=0.003)
    dry = program.json(
        "reduce", log, "--preview", "--temperature-shows", "probe", "--humidity-pct", "0"
    )
    assert correction(dry) == pytest.approx(0.41, abs=0.01)


def test_without_a_humidity_the_middle_of_a_range_is_taken_and_owned_by_the_sortie(
    program: Program, written: Callable[..., Path]
) -> None:
    done = program.json("reduce", written(), *WHO)
    # 55 % in the place of 60 %: a twelfth of 0.41 kt too little
    assert correction(done) == pytest.approx(0.41 * 5 / 60, abs=0.01)
    humidity = term(done, "humidity")
    assert (humidity["owner"], humidity["kind"]) == ("sortie", "B")
    # 20 to 90 %: 0.70/sqrt(12) = 0.202 of saturation, which is 0.41 kt for each 0.6
    per_kappa = done["runs"][0]["u_dvpc_kt"] / done["runs"][0]["u_kappa"]
    assert abs(humidity["u_kappa"]) * per_kappa == pytest.approx(0.41 * 0.202 / 0.6, rel=0.03)
    note = next(n for n in done["notes"] if n.startswith("Humidity"))
    assert "was not recorded: 55 % relative humidity is taken (u 20 %)" in note
    assert "in dry air the correction at 100 kt would be 0.38 kt larger" in note
    with opened(program.store) as connection:
        legs = connection.execute("SELECT recovery_factor, humidity_pct FROM leg").fetchall()
    assert {(round(k, 6), round(h, 6)) for k, h in legs} == {(0.8, 55.0)}


@pytest.mark.parametrize(
    ("heading", "value"), [("RH (%)", 60.0), ("Dew point (degC)", 17.65)], ids=["humidity", "dew"]
)
def test_a_column_of_the_log_tells_the_humidity(
    program: Program, written: Callable[..., Path], heading: str, value: float
) -> None:
    seconds = len(fly(CARD, HOT).ias_kt)
    done = program.json("reduce", written(more={heading: np.full(seconds, value)}), *WHO)
    assert correction(done) == pytest.approx(0.0, abs=0.01)
    (note,) = (n for n in done["notes"] if n.startswith("Humidity"))
    assert re.match(r"Humidity by its column, (59|60) % relative humidity on the mean \(u 5", note)
    assert program.run("store", "check").exit_code == 0


def test_a_dew_point_above_the_temperature_is_refused(
    program: Program, written: Callable[..., Path]
) -> None:
    seconds = len(fly(CARD, HOT).ias_kt)
    log = written(more={"Dew point (degC)": np.full(seconds, 35.0)})
    assert_explained(program.run("reduce", log, *WHO), 36, "flight.csv", "dew point")


def test_a_display_of_outside_temperature_needs_no_recovery_factor(
    program: Program, written: Callable[..., Path]
) -> None:
    truth = Truth(kappa=0.03, recovery_factor=0.0)
    log = written(truth)
    program.output("fleet", "temperature", "C-01", "--shows", "ambient")
    done = program.json("reduce", log, *WHO)
    assert done["runs"][0]["kappa"] == pytest.approx(0.03, abs=1e-4)
    assert term(done, "recovery factor")["u_kappa"] == 0.0
    (note,) = (n for n in done["notes"] if n.startswith("Temperature"))
    assert note.startswith("Temperature taken as outside temperature, as it stands with the")
    assert program.run("store", "check").exit_code == 0


def test_what_nobody_said_is_uniform_owned_by_the_fleet_and_asked_for(
    silent: Program, written: Callable[..., Path]
) -> None:
    log = written()
    done = silent.json("reduce", log, *WHO)
    recovery = term(done, "recovery factor")
    assert (recovery["owner"], recovery["note"]) == ("fleet", "0.289")
    with opened(silent.store) as connection:
        legs = connection.execute("SELECT recovery_factor FROM leg").fetchall()
    assert {k for (k,) in legs} == {0.5}
    (note,) = (n for n in done["notes"] if n.startswith("It is not known"))
    assert "recovery factor of 0.50 is taken (u 0.29)" in note
    assert "'fleetcal fleet temperature C-01 --shows ambient' or '--shows probe'" in note
    # half of V^2/(2 cp) is 0.76 K at 108 kt of true airspeed, 0.127 kt; warmer air of the same
    # relative humidity holds more vapour, which is a ninth of it again
    assert "the correction at 100 kt would be 0.14 kt smaller" in note


def test_a_preview_does_not_claim_that_nobody_has_said_it(
    silent: Program, written: Callable[..., Path]
) -> None:
    silent.output("fleet", "temperature", "C-01", "--shows", "ambient")
    shown = silent.json("reduce", written(), *WHO, "--preview")
    (note,) = (n for n in shown["notes"] if "recovery factor" in n)
    assert note.startswith("A preview does not look up whether the temperature display shows")
    assert "State it with '--temperature-shows ambient'" in note


@pytest.mark.long
def test_once_it_is_said_reducing_again_takes_it_and_tells_what_moved(
    silent: Program, written: Callable[..., Path]
) -> None:
    log = written()
    first = silent.json("reduce", log, *WHO)
    assert {p["outcome"] for p in silent.json("reduce", log, "--again")["points"]} == {"alike"}
    silent.output("fleet", "temperature", "C-01", "--shows", "probe", "--recovery-factor", "0.75")
    told = said(silent, "reduce", log, "--again")
    assert "would change (recovery factor 0.50 before, recovery factor 0.75 now)" in told
    again = silent.json("reduce", log, "--again", "--replace")
    assert again["points"][0]["dvpc_kt_after"] > correction(first)
    assert {p["outcome"] for p in silent.json("reduce", log, "--again")["points"]} == {"alike"}
    assert silent.run("store", "check").exit_code == 0


def test_what_was_said_of_one_flight_is_asked_again_as_it_was(
    silent: Program, written: Callable[..., Path]
) -> None:
    log = written()
    words = ("--temperature-shows", "ambient", "--dew-point-degc", "17")
    first = silent.json("reduce", log, *WHO, *words)
    assert term(first, "recovery factor")["u_kappa"] == 0.0
    assert {p["outcome"] for p in silent.json("reduce", log, "--again")["points"]} == {"alike"}
    moister = silent.json("reduce", log, "--again", "--humidity-pct", "90")
    (flight,) = moister["flights"]
    (moved,) = flight["moved"]
    assert moved.endswith("% relative humidity before, 90 % relative humidity now")


def test_a_flight_of_the_former_version_keeps_its_numbers_until_it_is_reduced_again(
    silent: Program, written: Callable[..., Path]
) -> None:
    log = written()
    former = ("--humidity-pct", "0", "--temperature-shows", "probe")
    before = silent.json("reduce", log, *WHO, *former)
    with opened(silent.store) as connection:
        (kept,) = connection.execute("SELECT settings_json FROM sortie").fetchone()
    document = json.loads(kept)
    for name in ("temperature", "humidity", "air_asked", "air"):
        document.pop(name)
    document["probe"] = {"recovery_factor": 0.8}
    change(silent.store, "UPDATE sortie SET settings_json = ?", (json.dumps(document),))
    change(silent.store, "UPDATE leg SET recovery_factor = NULL, humidity_pct = NULL", ())
    checked = json.loads(silent.run("store", "check", "--format", "json").stdout)
    assert ["changed past the program" in fault["what"] for fault in checked["faults"]] == [True]
    (point,) = silent.json("points", "list")["points"]
    assert point["dvpc_kt"] == correction(before)
    told = said(silent, "reduce", log, "--again", "--replace")
    assert "recovery factor 0.80 before, recovery factor 0.50 now" in told
    assert "dry air before, 55 % relative humidity now" in told
    (point,) = silent.json("points", "list")["points"]
    assert point["dvpc_kt"] < correction(before) - 0.3
    assert silent.run("store", "check").exit_code == 0


def test_settings_and_headings_go_before_the_airframe(
    program: Program, written: Callable[..., Path], folder: Path
) -> None:
    (folder / "s.toml").write_text("[probe]\nrecovery_factor = 0.6\n")
    log = written()
    program.output("fleet", "temperature", "C-01", "--shows", "ambient")
    told = said(program, "reduce", log, *WHO, "--settings", folder / "s.toml", "--details")
    assert "recovery factor 0.60 (u 0.10), by the settings" in told
    static = folder / "static.csv"
    static.write_text(log.read_text().replace("OAT (degC)", "static air temperature (degC)"))
    program.output("fleet", "temperature", "C-01", "--shows", "probe")
    told = said(program, "reduce", static, *WHO, "--details", "--preview")
    assert "Temperature taken as outside temperature, by its heading" in told


def test_a_sheet_and_a_list_of_flights_tell_the_humidity_too(
    program: Program, folder: Path, written: Callable[..., Path]
) -> None:
    (folder / "legs.csv").write_text(
        "ias_kt,pressure_altitude_ft,oat_degc,ground_speed_kt,track_deg,humidity_pct\n"
        "100,3000,26,110,20,80\n100,3000,26,112,140,\n100,3000,26,109,260,82\n"
    )
    done = program.json("reduce", folder / "legs.csv", *WHO, "--date", "2024-05-01")
    assert any("Humidity by its column, 81 %" in note for note in done["notes"])
    logs = folder / "logs"
    logs.mkdir()
    (logs / "flight.csv").write_text(written().read_text())
    listed = "file,airframe,weight_kg,humidity_pct\nflight.csv,C-02,580,60\n"
    (folder / "list.csv").write_text(listed)
    program.output("reduce", logs, "--flights", folder / "list.csv")
    (point,) = (p for p in program.json("points", "list")["points"] if p["airframe"] == "C-02")
    assert point["dvpc_kt"] == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    "words",
    [
        ("--humidity-pct", "50", "--dew-point-degc", "12"),
        ("--temperature-shows", "ambient", "--recovery-factor", "0.8"),
        ("--humidity-pct", "120"),
    ],
)
def test_what_contradicts_itself_is_a_slip_of_usage(
    program: Program, written: Callable[..., Path], words: tuple[str, ...]
) -> None:
    assert program.run("reduce", written(), "--preview", *words).exit_code == 2


def test_a_speed_course_is_flown_in_moist_air_too(program: Program, folder: Path) -> None:
    # 100 kt indicated at 3,000 ft and 26 degrees, in air of 60 %: true airspeed computed from
    # the defining equations, both ways over a nautical mile without wind.
    (folder / "course.csv").write_text(
        "ias_kt,pressure_altitude_ft,ambient_degc,humidity_pct,distance_m,time_out_s,time_back_s\n"
        + "100,3000,26,60,3704,{0:.3f},{0:.3f}\n".format(3704.0 / TRUE_MPS)
    )
    done = program.json("measure", "speed-course", folder / "course.csv", "--preview")
    (point,) = done["points"]
    assert point["dvpc_kt"] == pytest.approx(0.0, abs=0.01)
    assert any("60 % relative humidity" in note for note in done["notes"])


def _true_mps() -> float:
    """Airspeed by the densities of air and vapour, in powers; nothing of the program."""
    static = 101325.0 * (1.0 - 0.0065 * 914.4 / 288.15) ** 5.2558797
    impact = 101325.0 * ((1.0 + 0.2 * (100.0 * 1852.0 / 3600.0 / 340.294) ** 2) ** 3.5 - 1.0)
    vapour = 0.6 * 610.94 * np.exp(17.625 * 26.0 / 269.04)
    light_k = 299.15 / (1.0 - 0.378 * vapour / static)
    mach = np.sqrt(5.0 * ((1.0 + impact / static) ** (1.0 / 3.5) - 1.0))
    return float(mach * np.sqrt(1.4 * 287.05287 * light_k))


TRUE_MPS = _true_mps()


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ('temperature_shows = "dial"', "is not known"),
        ('temperature_shows = "ambient"\nrecovery_factor = 0.8', "is of a probe"),
        ('temperature_shows = "probe"\nrecovery_factor = 1.5', "at most 1"),
    ],
)
def test_a_fleet_file_that_says_what_no_display_shows_is_refused(
    program: Program, folder: Path, line: str, named: str
) -> None:
    text = fleet_toml((SMALL_GROUP,)).replace('temperature_shows = "probe"', line, 1)
    (folder / "fleet.toml").write_text(text)
    assert_explained(program.run("fleet", "load", folder / "fleet.toml"), 34, "airframe 1", named)


def test_the_fleet_tells_what_each_display_shows(program: Program, folder: Path) -> None:
    text = program.output(
        "fleet", "temperature", "C-02", "--shows", "probe", "--recovery-factor", "0.7"
    )
    assert text.strip() == "C-02: temperature shows what a probe of recovery factor 0.7 feels"
    rows = {row["airframe"]: row for row in program.json("show", "fleet")["fits"]}
    assert (rows["C-02"]["temperature_shows"], rows["C-02"]["recovery_factor"]) == ("probe", 0.7)
    program.output("show", "fleet", "--out", folder / "copy.toml")
    assert "recovery_factor = 0.7" in (folder / "copy.toml").read_text()
