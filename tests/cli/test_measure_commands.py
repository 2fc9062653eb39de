"""Techniques other than GPS legs through the commands, and the budget of one point."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest

from fleetcal.records.point import TECHNIQUES
from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.store_places import held, opened

FLIGHT = ("--airframe", "C-02", "--date", "2024-05-02", "--weight-kg", 580)
PACE = (
    "ias_kt,pressure_altitude_ft,pace_ias_kt,pace_correction_kt,u_pace_kt,u_pace_reading_kt,"
    "u_station_kt,u_ias_reading_kt\n"
    "131,3000,130,0,0.6,0.5,0.3,0.4\n"
)


def write(folder: Path, text: str, name: str = "readings.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("command", TECHNIQUE_FILES)
def test_the_example_in_the_help_can_be_measured_and_is_kept_with_its_terms(
    command: str, program: Program, folder: Path
) -> None:
    file = TECHNIQUE_FILES[command]
    assert file.technique in TECHNIQUES
    shown = program.output("measure", command, "--help")
    for line in file.example.splitlines():
        assert f"  {line}\n" in shown
    for column in file.columns:
        assert f"  {column.name} " in shown
    path = write(folder, file.example)
    done = program.json("measure", command, path, *FLIGHT)
    assert done["stored"]
    assert not done["known_already"]
    stored = program.json("points", "list")["points"]
    assert len(stored) == len(done["points"]) >= 2
    for told, point in zip(done["points"], stored, strict=True):
        assert point["technique"] == file.technique
        assert point["weight_kg"] == 580.0
        for name in ("vic_kt", "kappa", "u_kappa", "dvpc_kt", "u_dvpc_kt", "dhpc_ft", "u_dhpc_ft"):
            assert point[name] == pytest.approx(told[name], rel=1e-12)
        assert [t["name"] for t in point["terms"]] == [t["name"] for t in told["terms"]]
        squares = sum(t["u_kappa"] ** 2 for t in point["terms"])
        assert np.sqrt(squares) == pytest.approx(point["u_kappa"], rel=1e-9)
        assert any(t["owner"] == "airframe" for t in point["terms"])
        assert any(t["owner"] == "point" for t in point["terms"])


def test_131_kt_beside_130_kt_is_a_correction_of_minus_one_knot(
    program: Program, folder: Path
) -> None:
    # Common practice, no published source; the uncertainty by hand as in the tests of the
    # technique: sqrt(0.6^2 + 0.5^2 + 0.3^2) with 130/131 of sqrt(0.4^2 + 2^2/3), the
    # last being an indicator without a bench check, 2 kt off either way.
    done = program.json("measure", "pace-aircraft", write(folder, PACE), *FLIGHT)
    (point,) = done["points"]
    assert point["dvpc_kt"] == pytest.approx(-1.0, abs=1e-9)
    by_hand = np.hypot(
        np.sqrt(0.6**2 + 0.5**2 + 0.3**2), np.hypot(0.4, 2.0 / np.sqrt(3.0)) * 130.0 / 131.0
    )
    assert point["u_dvpc_kt"] == pytest.approx(by_hand, rel=1e-3)
    read = np.hypot(np.sqrt(0.6**2 + 0.5**2 + 0.3**2), 0.4 * 130.0 / 131.0)
    assert point["u_as_read_kt"] == pytest.approx(read, rel=1e-3)  # the indicator left out
    assert done["notes"][0] == (
        "No bench check applied to the airspeed indicator: its tolerance is taken, 2 kt either "
        "way at 100 kt (SAE AS8002A table 3, of new equipment)."
    )
    assert "not a verdict of airworthiness" in done["yardstick"]
    assert "1.0 kt at 131 kt against 3 % or 5 kt" in done["yardstick"]


def test_the_same_content_again_adds_nothing(program: Program, folder: Path) -> None:
    program.output("measure", "pace-aircraft", write(folder, PACE), *FLIGHT)
    before = held(program.store)
    again = program.run("measure", "pace-aircraft", write(folder, PACE, "copy.csv"), *FLIGHT)
    assert again.exit_code == 0
    assert "the same content is in the store already, as readings.csv" in again.stderr
    assert "Nothing stored: sortie 1" in again.stdout
    assert held(program.store) == before
    other = program.run(
        "measure", "pace-aircraft", folder / "copy.csv", "--airframe", "C-03", *FLIGHT[2:]
    )
    assert_explained(other, 3, "stored for C-02")


def test_a_preview_needs_nothing_and_stores_nothing(program: Program, folder: Path) -> None:
    path = write(folder, PACE)
    before = folder_content(folder)
    shown = program.output("measure", "pace-aircraft", path, "--preview")
    assert "Preview: nothing stored." in shown
    assert "A preview applies no bench check." in shown
    assert "Advisory only" in shown
    assert folder_content(folder) == before


@pytest.mark.parametrize("left_out", ["--airframe", "--date"])
def test_storing_needs_airframe_and_date(left_out: str, program: Program, folder: Path) -> None:
    at = FLIGHT.index(left_out)
    words = (*FLIGHT[:at], *FLIGHT[at + 2 :])
    refused = program.run("measure", "pace-aircraft", write(folder, PACE), *words)
    assert refused.exit_code == 2
    assert left_out in refused.stderr


def test_without_a_weight_the_reference_weight_is_taken_and_said(
    program: Program, folder: Path
) -> None:
    done = program.run("measure", "pace-aircraft", write(folder, PACE), *FLIGHT[:4])
    assert "Warning: no weight given: the type's reference weight 600 kg is taken" in done.stderr
    (point,) = program.json("points", "list")["points"]
    assert point["weight_kg"] == 600.0


HEADINGS = "ias_kt,pressure_altitude_ft,pace_ias_kt,pace_correction_kt"


@pytest.mark.parametrize(
    ("text", "code", "named"),
    [
        ("", 31, "the file is empty"),
        (f"{HEADINGS}\n", 31, "no rows"),
        (f"{HEADINGS},colour\n1,2,3,4,5\n", 34, "'colour'"),
        ("ias_kt,pressure_altitude_ft,pace_ias_kt\n90,0,90\n", 33, "pace_correction_kt"),
        (f"{HEADINGS},vic_kt\n90,0,90,0,90\n", 33, "both ias_kt and vic_kt"),
        (f"{HEADINGS}\n90,0,90,0\n90,0,fast,0\n", 34, "line 3, column pace_ias_kt"),
        (f"{HEADINGS}\n90,0,,0\n", 34, "line 2, column pace_ias_kt"),
        (f"{HEADINGS}\n90,0,90\n", 34, "line 2: 3 cells"),
        (f"{HEADINGS}\n900,0,90,0\n", 34, "line 2, column ias_kt"),
        (f"{HEADINGS}\n90,0,90,nan\n", 34, "line 2, column pace_correction_kt"),
        (f"{HEADINGS},u_pace_kt\n90,0,90,0,-1\n", 34, "line 2, column u_pace_kt"),
        (f"{HEADINGS}\n90,0,90,0\n50,0,90,0\n", 36, "line 3: kappa would be +2.2"),
        (f"{HEADINGS}\n190,0,90,0\n", 36, "line 2: kappa would be -0.78"),
        (
            f"{HEADINGS},pace_pressure_altitude_ft\n90,0,90,0,10\n",
            34,
            "column pace_altitude_correction_ft",
        ),
    ],
)
def test_a_bad_file_is_refused_whole_and_the_place_named(
    text: str, code: int, named: str, program: Program, folder: Path
) -> None:
    path = write(folder, text)
    before = folder_content(folder)
    refused = program.run("measure", "pace-aircraft", path, *FLIGHT)
    assert_explained(refused, code, "readings.csv", named)
    assert folder_content(folder) == before


def test_a_speed_course_needs_a_temperature_in_every_row(program: Program, folder: Path) -> None:
    text = TECHNIQUE_FILES["speed-course"].example.replace("B,120,1500,14,", "B,120,1500,,")
    refused = program.run("measure", "speed-course", write(folder, text), *FLIGHT)
    assert_explained(refused, 34, "line 4, column oat_degc")


def test_an_airframe_that_carried_nothing_yet_is_refused(program: Program, folder: Path) -> None:
    path = write(folder, PACE)
    words = ("--airframe", "C-02", "--date", "2014-05-02", "--weight-kg", 580)
    assert_explained(program.run("measure", "pace-aircraft", path, *words), 3, "C-02", "2015-04-01")
    assert program.json("points", "list")["points"] == []
    unknown = ("--airframe", "C-99", *FLIGHT[2:])
    assert_explained(program.run("measure", "pace-aircraft", path, *unknown), 35, "C-99")


def test_a_contradiction_is_kept_but_not_accepted(program: Program, folder: Path) -> None:
    text = (
        f"{HEADINGS},pace_pressure_altitude_ft,pace_altitude_correction_ft\n"
        "100,3000,100,0,3300,0\n101,3000,101,0,3005,0\n"
    )
    shown = program.output("measure", "pace-aircraft", write(folder, text), *FLIGHT)
    assert "Point 1 is kept but not accepted: airspeeds and altimeters contradict" in shown
    first, second = program.json("points", "list")["points"]
    assert (first["accepted"], second["accepted"]) == (False, True)
    assert "contradict each other" in first["reason"]
    with opened(program.store) as connection:
        ((kept,),) = connection.execute("SELECT settings_json FROM sortie").fetchall()
    remarks = json.loads(kept)["remarks"]
    assert set(remarks) == {"1", "2"}
    assert "airspeeds weighted" in remarks["2"]


def test_a_bench_check_corrects_ias_and_leaves_vic_alone(program: Program, folder: Path) -> None:
    card = write(folder, "indicated_kt,correction_kt\n60,2\n160,2\n", "card.csv")
    words = ("--airframe", "C-02", "--date", "2024-03-01", "--u-kt", 0.1)
    program.output("bench", "enter", "airspeed", card, *words)
    read = program.json("measure", "pace-aircraft", write(folder, PACE), *FLIGHT)
    own = program.json(
        "measure", "pace-aircraft", write(folder, PACE.replace("ias_kt,p", "vic_kt,p", 1)), *FLIGHT
    )
    assert read["points"][0]["vic_kt"] == pytest.approx(133.0)
    assert read["points"][0]["dvpc_kt"] == pytest.approx(-3.0)
    assert own["points"][0]["vic_kt"] == pytest.approx(131.0)
    note = {t["name"]: t["note"] for t in read["points"][0]["terms"]}["airspeed indicator"]
    # two months of drift: a third of 2 kt / sqrt(3) in 24 months
    assert note == "0.105 kt, bench check of 2024-03-01"
    assert own["notes"][0].startswith("No bench check applied to the airspeed indicator")


def test_settings_widen_the_budget(program: Program, folder: Path) -> None:
    path = write(folder, PACE)
    settings = write(folder, "[uncertainty]\nu_airspeed_kt = 3.0\n", "settings.toml")
    usual = program.json("measure", "pace-aircraft", path, "--preview")["points"][0]
    wide = program.json("measure", "pace-aircraft", path, "--preview", "--settings", settings)
    assert wide["points"][0]["u_dvpc_kt"] > 2.0 * usual["u_dvpc_kt"]
    assert wide["points"][0]["kappa"] == usual["kappa"]


def test_pairs_of_one_point_are_averaged(program: Program, folder: Path) -> None:
    example = TECHNIQUE_FILES["speed-course"].example
    path = write(folder, example)
    first, second = program.json("measure", "speed-course", path, "--preview")["points"]
    assert (first["line"], second["line"]) == (2, 4)
    alone = [
        program.json("measure", "speed-course", write(folder, text), "--preview")["points"][0]
        for text in ("\n".join([example.splitlines()[0], example.splitlines()[i]]) for i in (1, 2))
    ]
    assert first["kappa"] == pytest.approx(np.mean([p["kappa"] for p in alone]), rel=1e-12)
    assert first["u_kappa"] < alone[0]["u_kappa"]


def test_the_budget_of_a_point_shows_every_term_largest_first(
    program: Program, folder: Path
) -> None:
    done = program.json("measure", "pace-aircraft", write(folder, PACE), *FLIGHT)
    budget = program.json("points", "budget", 1)
    (point,) = done["points"]
    names = [t["term"] for t in budget["terms"]]
    # u in knots by hand: 2/sqrt(3), 0.6, 0.5, 0.4 and 0.3, readings at 131 counting 130/131
    assert names[:4] == [
        *("airspeed indicator", "pace aircraft calibration"),
        *("pace airspeed reading", "airspeed reading"),
    ]
    told = [t["u_dvpc_kt"] for t in budget["terms"]]
    assert told == sorted(told, reverse=True)
    share = 130 / 131
    by_hand = [2.0 / np.sqrt(3.0) * share, 0.6, 0.5, 0.4 * share]
    assert told[:4] == pytest.approx(by_hand, rel=2e-3)
    shares = [t["share_percent"] for t in budget["terms"]]
    assert sum(shares) == pytest.approx(100.0)
    assert shares[1] == pytest.approx(100.0 * 0.36 / point["u_dvpc_kt"] ** 2, rel=4e-3)
    assert budget["unexplained_percent"] == 0.0
    assert budget["degrees_of_freedom"] is None
    assert budget["coverage_factor"] == pytest.approx(1.96, abs=1e-3)
    assert budget["U95_dvpc_kt"] == pytest.approx(1.96 * point["u_dvpc_kt"], rel=1e-3)
    shared = {t["term"] for t in budget["terms"] if t["owner"] != "point"}
    assert shared == {"pace aircraft calibration", "airspeed indicator"}
    shown = program.output("points", "budget", 1)
    assert "coverage factor 1.96" in shown
    rows = list(
        csv.DictReader(io.StringIO(program.output("points", "budget", 1, "--format", "csv")))
    )
    assert [row["term"] for row in rows] == names
    assert_explained(program.run("points", "budget", 99), 35, "99")


def test_few_degrees_of_freedom_widen_the_expanded_uncertainty(
    program: Program, folder: Path
) -> None:
    settings = "[uncertainty]\nu_wind_kt = 12.0\nu_airspeed_kt = 0.3\n"
    rough = write(folder, settings, "settings.toml")
    example = write(folder, TECHNIQUE_FILES["speed-course"].example)
    program.output("measure", "speed-course", example, *FLIGHT, "--settings", rough)
    budget = program.json("points", "budget", 2)
    # the wind rules, and is known as well as from eight spare pairs: t(8) = 2.306, GUM table G.2
    assert budget["terms"][0]["term"] == "wind between passes"
    assert budget["degrees_of_freedom"] == pytest.approx(8.0, abs=0.3)
    assert budget["coverage_factor"] == pytest.approx(2.306, abs=0.02)


def test_the_budget_of_a_barred_and_rejected_point_says_so(program: Program, folder: Path) -> None:
    program.output("measure", "pace-aircraft", write(folder, PACE), *FLIGHT)
    program.output("points", "reject", 1, "--reason", "too close")
    words = ("--airframe", "C-02", "--date", "2024-06-01", "--loss-ft", 300)
    program.output("bench", "enter", "leak", *words)
    shown = program.output("points", "budget", 1)
    assert "Not accepted: too close." in shown
    assert "Barred from every pool: static leak check failed on 2024-06-01" in shown
