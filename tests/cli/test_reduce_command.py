"""From a recorded flight to stored points, through the command."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_fleet import TAIL, WING
from tests.cli.invented_sortie import Card, Truth, fly, impact_pa, log_text
from tests.store_places import copy_store, opened, store_at

KT = 1852.0 / 3600.0
KT_PER_MPH = 1609.344 / 1852.0
WHO = ("--airframe", "C-01", "--weight-kg", "580")


@pytest.fixture
def written(folder: Path) -> Callable[..., Path]:
    """Return a function that writes a log and returns its path."""

    def write(text: str, name: str = "flight.csv") -> Path:
        path = folder / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_calm_flight_gives_kappa_and_wind_as_they_are(
    program: Program, written: Callable[..., Path]
) -> None:
    truth = Truth(kappa=-0.06, wind_east_kt=14.0, wind_north_kt=-9.0)
    log = written(log_text(fly(truth=truth), decimals=(5, 4, 5, 5, 5)))
    found = program.json("reduce", log, *WHO)
    assert [round(run["vic_kt"]) for run in found["runs"]] == [75, 100, 125]
    for run in found["runs"]:
        # What is left is the rounding of the log, which uncertainty is not asked about.
        assert run["kappa"] == pytest.approx(-0.06, abs=1e-5)
        assert run["wind_speed_kt"] == pytest.approx(np.hypot(14.0, 9.0), abs=1e-3)
        against = np.degrees(np.arctan2(-14.0, 9.0)) % 360.0
        assert run["wind_from_deg"] == pytest.approx(against, abs=0.01)
        assert run["leg_count"] == 4
        assert run["dvpc_kt"] < 0.0


def drawn(rng: np.random.Generator) -> Truth:
    """Draw a flight whose instruments err as the default assumptions suppose."""
    return Truth(
        kappa=float(rng.uniform(-0.1, 0.1)),
        wind_east_kt=float(rng.normal(0.0, 15.0)),
        wind_north_kt=float(rng.normal(0.0, 15.0)),
        warmer_than_standard_k=float(rng.normal(0.0, 8.0)),
        temperature_bias_k=float(rng.normal(0.0, 1.0)),
        recovery_factor=float(np.clip(rng.normal(0.8, 0.1), 0.5, 1.0)),
        humidity=float(rng.uniform(0.2, 0.9)),
        airspeed_bias_kt=float(rng.normal(0.0, 0.3)),
        altimeter_bias_ft=float(rng.normal(0.0, 20.0)),
        roughness=1.0,
    )


@pytest.mark.long
def test_rough_flights_give_kappa_within_their_own_expanded_uncertainty(
    program: Program, written: Callable[..., Path], folder: Path
) -> None:
    # As on an aircraft whose instruments were on a bench: a tolerance would hide all else.
    bench = folder / "bench.toml"
    bench.write_text("[uncertainty]\nu_airspeed_kt = 0.3\nu_altitude_ft = 20.0\n")
    rng = np.random.default_rng(5)
    inside, ratios = 0, []
    for seed in range(12):
        truth = drawn(rng)
        log = written(log_text(fly(truth=truth, seed=100 + seed)))
        words = ("--settings", bench, "--temperature-shows", "probe")
        for run in program.json("reduce", log, "--preview", *words)["runs"]:
            error = run["kappa"] - truth.kappa
            expanded = stats.t.ppf(0.975, run["degrees_of_freedom"] or np.inf) * run["u_kappa"]
            inside += abs(error) <= expanded
            ratios.append(error / run["u_kappa"])
    assert len(ratios) == 36
    # 95 % of 36 are 34; fewer than 31 would be a chance of 1 in 100 (binomial).
    assert inside >= 31
    # An uncertainty that is far too large would hide any error. Runs of a flight share
    # errors, so the mean square of 12 flights of 3 still scatters by about a third.
    assert 0.5 < np.sqrt(np.mean(np.square(ratios))) < 1.5


def test_a_preview_stores_nothing_and_needs_no_store(
    folder: Path, rough_log: str, written: Callable[..., Path]
) -> None:
    log = written(rough_log)
    before = folder_content(folder)
    text = Program(store_at(folder / "none.sqlite3")).output("reduce", log, "--preview")
    assert "Nothing is stored. To keep it under a name, add: --airframe TAG" in text
    assert folder_content(folder) == before


def test_what_was_reduced_is_listed_afterwards(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    done = program.json("reduce", written(rough_log), *WHO, "--note", "smooth above 3000 ft")
    assert done["stored"] is True
    points = program.json("points", "list")["points"]
    assert [p["kappa"] for p in points] == [r["kappa"] for r in done["runs"]]
    assert {p["sortie_id"] for p in points} == {done["sortie_id"]}
    assert {p["airframe"] for p in points} == {"C-01"}
    assert {p["static_source"] for p in points} == {TAIL}
    assert {p["technique"] for p in points} == {"gps legs"}
    for point in points:
        squares = sum(term["u_kappa"] ** 2 for term in point["terms"])
        assert squares == pytest.approx(point["u_kappa"] ** 2, rel=1e-12)


@pytest.mark.long
def test_the_same_file_twice_adds_nothing_and_says_so(
    program: Program, folder: Path, rough_log: str, written: Callable[..., Path]
) -> None:
    first = program.json("reduce", written(rough_log), *WHO)
    before = folder_content(folder)
    copy = written(rough_log, "copy.csv")
    result = program.run("reduce", copy, *WHO)
    copy.unlink()
    assert result.exit_code == 0
    said = f"sortie {first['sortie_id']} has this content already, with 3 points."
    assert result.stdout.splitlines()[0] == f"Nothing was added: {said}"
    assert result.stderr == ""
    assert "Advisory" not in result.stdout, "there is no result to be careful with"
    assert folder_content(folder) == before
    again = program.json("reduce", written(rough_log), *WHO)
    assert (again["stored"], again["known_already"]) == (False, True)
    assert (again["sortie_id"], again["points_known"]) == (first["sortie_id"], 3)
    for name in ("flown_on", "weight_kg", "flap_setting", "technique", "track_reference"):
        assert again[name] == first[name], name
    assert again["runs"] == []
    assert again["legs_found"] is None


def test_a_flight_of_one_point_is_known_again(
    program: Program, written: Callable[..., Path]
) -> None:
    log = written(log_text(fly(Card(airspeeds_kt=(90.0,), legs=4), Truth(roughness=1.0))))
    assert len(program.json("reduce", log, *WHO)["runs"]) == 1
    again = program.json("reduce", log, *WHO)
    assert (again["known_already"], again["points_known"]) == (True, 1)


@pytest.mark.long
def test_the_same_content_for_another_airframe_is_an_error(
    program: Program, folder: Path, rough_log: str, written: Callable[..., Path]
) -> None:
    log = written(rough_log)
    program.output("reduce", log, *WHO)
    before = folder_content(folder)
    result = program.run("reduce", log, "--airframe", "C-02", "--weight-kg", 580)
    assert_explained(result, 3, "flight.csv", "C-01")
    assert folder_content(folder) == before


def test_a_missing_weight_is_warned_of_and_the_reference_weight_taken(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    result = program.run("reduce", written(rough_log), "--airframe", "C-01")
    assert result.exit_code == 0
    assert "Warning: no weight given" in result.stderr
    assert "600 kg" in result.stderr
    assert {p["weight_kg"] for p in program.json("points", "list")["points"]} == {600.0}


def test_a_missing_date_is_an_error_that_tells_the_option(
    program: Program, folder: Path, written: Callable[..., Path]
) -> None:
    log = written(log_text(fly(), dated=False))
    before = folder_content(folder)
    result = program.run("reduce", log, *WHO)
    assert_explained(result, 3, "flight.csv", "no date")
    assert "--date" in result.stderr.splitlines()[1]
    assert folder_content(folder) == before
    assert program.json("reduce", log, *WHO, "--date", "2024-02-29")["flown_on"] == "2024-02-29"


def test_a_date_that_contradicts_the_log_is_warned_of(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    result = program.run("reduce", written(rough_log), *WHO, "--date", "2023-05-02")
    assert result.exit_code == 0
    assert "Warning: 2023-05-02 is taken" in result.stderr
    assert "2024-05-02" in result.stderr


def _of_leg(rows: list[list[str]], leg: dict[str, Any]) -> list[list[str]]:
    return rows[int(leg["start_s"]) : int(leg["stop_s"]) + 1]


def test_a_log_without_any_scatter_is_stored(
    program: Program, written: Callable[..., Path]
) -> None:
    # Whole knots, tens of feet and whole degrees in calm air: in many a leg no sample differs.
    log = written(log_text(fly(), decimals=(0, -1, 0, 0, 0)))
    done = program.json("reduce", log, *WHO)
    assert len(done["runs"]) == 3
    rows = [row.split(",")[2:] for row in log.read_text(encoding="utf-8").splitlines()[1:]]
    same = [
        leg
        for leg in done["legs"]
        if all(row == rows[int(leg["start_s"])] for row in _of_leg(rows, leg))
    ]
    assert len(same) > 4
    # errors of the ground speed are left, 0.05 m/s at least
    assert min(leg["u_kt"] for leg in done["legs"]) > 0.05
    for run in done["runs"]:
        assert run["kappa"] == pytest.approx(0.05, abs=2.0 * run["u_kappa"])


@pytest.mark.long
def test_settings_change_the_reduction(
    program: Program, rough_log: str, written: Callable[..., Path], folder: Path
) -> None:
    log = written(rough_log)
    plain = program.json("reduce", log, "--preview")
    wary = folder / "wary.toml"
    wary.write_text("[uncertainty]\nu_temperature_k = 4.0\n[legs]\nlongest_s = 30.0\n")
    changed = program.json("reduce", log, "--preview", "--settings", wary)
    assert changed["legs_found"] > plain["legs_found"]
    wide, usual = (found["runs"][0]["U95_as_read_kt"] for found in (changed, plain))
    assert wide > 1.5 * usual  # beside the tolerance of the indicator it would not show


@pytest.mark.long
def test_the_printed_settings_are_a_file_that_changes_nothing(
    program: Program, rough_log: str, written: Callable[..., Path], folder: Path
) -> None:
    log = written(rough_log)
    whole = folder / "settings.toml"
    whole.write_text(program.output("settings"))
    assert program.output("settings", whole) == whole.read_text()
    plain = program.json("reduce", log, "--preview")["runs"]
    same = program.json("reduce", log, "--preview", "--settings", whole)["runs"]
    assert len(same) == len(plain)
    for one, other in zip(same, plain, strict=True):
        assert one["kappa"] == pytest.approx(other["kappa"], abs=1e-9)
        assert one["u_kappa"] == pytest.approx(other["u_kappa"], rel=1e-6)


def test_the_settings_used_are_kept_with_the_sortie(
    program: Program, rough_log: str, written: Callable[..., Path], folder: Path
) -> None:
    (folder / "s.toml").write_text("[probe]\nrecovery_factor = 0.7\n")
    program.output("reduce", written(rough_log), *WHO, "--settings", folder / "s.toml")
    with opened(program.store) as connection:
        (kept,) = connection.execute("SELECT settings_json FROM sortie").fetchone()
    assert json.loads(kept)["probe"] == {"recovery_factor": 0.7}
    assert json.loads(kept)["airspeed_from"] == "indicated_airspeed"


BAD_SETTINGS = {
    "[legs]\nspeed = 3\n": "legs: unknown key 'speed'",
    "[wings]\n": "unknown table 'wings'",
    "[legs]\nshortest_s = '30'\n": "legs: shortest_s = '30' is not a number",
    "[legs]\nshortest_s = -1\n": "legs: shortest_s = -1 is not a number of at least zero",
    "[legs]\nshortest_s = nan\n": "legs: shortest_s = nan",
    "[legs]\nshortest_s = true\n": "legs: shortest_s = True",
    "[legs]\nfewest_samples = 2.5\n": "legs: fewest_samples = 2.5 is not a whole number",
    "[runs]\nfewest_legs = 2\n": "runs: fewest_legs = 2 is too few",
    "[runs]\nairspeed_apart_kt = 0\n": "runs: airspeed_apart_kt = 0 is not above zero",
    "[uncertainty]\nprior_weight = 0.0\n": "uncertainty: prior_weight = 0.0 is not above zero",
    "[probe]\nrecovery_factor = 80\n": "probe: recovery_factor = 80 is above 1",
    "[legs\n": "line 1",
}


@pytest.mark.parametrize("text", BAD_SETTINGS)
def test_bad_settings_are_refused_with_table_and_key(
    text: str, program: Program, rough_log: str, written: Callable[..., Path], folder: Path
) -> None:
    (folder / "s.toml").write_text(text)
    result = program.run("reduce", written(rough_log), "--preview", "--settings", folder / "s.toml")
    assert_explained(result, 34, "s.toml", BAD_SETTINGS[text])


@pytest.mark.long
def test_no_setting_of_zero_or_of_enormous_size_ends_in_a_traceback(
    program: Program, written: Callable[..., Path], folder: Path
) -> None:
    log = written(log_text(fly(Card(airspeeds_kt=(100.0,), legs=3), Truth(roughness=1.0))))
    for table, values in tomllib.loads(program.output("settings")).items():
        for key in values:
            for value in (0, 1e8):
                (folder / "s.toml").write_text(f"[{table}]\n{key} = {value:.0f}\n")
                result = program.run("reduce", log, "--preview", "--settings", folder / "s.toml")
                # Either it can be done, or it is refused, or no run is left to solve.
                assert result.exit_code in (0, 34, 36, 37), (table, key, value, result.stderr)
                assert "nan" not in result.stdout


@pytest.mark.long
def test_airspeeds_that_agree_leave_the_choice_to_the_program(
    program: Program, written: Callable[..., Path]
) -> None:
    sortie = fly(truth=Truth(humidity=0.0))  # a display works true airspeed out for dry air
    log = written(log_text(sortie, more={"TAS (kt)": sortie.tas_kt}))
    assert program.json("reduce", log, "--preview")["airspeed_from"] == "indicated_airspeed"
    asked = program.json(
        *("reduce", log, "--preview", "--airspeed-from", "true_airspeed"),
        *("--humidity-pct", "0", "--temperature-shows", "probe"),
    )
    assert asked["airspeed_from"] == "true_airspeed"
    # The true airspeed of this log is free of error, so the readings that it stands for are too.
    for run in asked["runs"]:
        assert run["kappa"] == pytest.approx(0.0, abs=5e-4)


def test_airspeed_in_the_wrong_unit_is_refused_with_both_columns_named(
    program: Program, written: Callable[..., Path], folder: Path
) -> None:
    sortie = fly()
    wrong = replace(sortie, ias_kt=sortie.ias_kt / KT_PER_MPH)  # miles an hour, called knots
    log = written(log_text(wrong, more={"TAS (kt)": sortie.tas_kt}))
    before = folder_content(folder)
    result = program.run("reduce", log, *WHO)
    assert_explained(result, 36, "flight.csv", "'IAS (kt)'", "'TAS (kt)'", "times the speed")
    assert "--airspeed-from" in result.stderr.splitlines()[1]
    assert folder_content(folder) == before
    decided = program.run("reduce", log, "--preview", "--airspeed-from", "true_airspeed")
    assert decided.exit_code == 0
    assert "'IAS (kt)'" in decided.stderr


@pytest.mark.long
def test_two_airspeeds_that_agree_outvote_a_third_with_the_columns_named(
    program: Program, written: Callable[..., Path]
) -> None:
    sortie = fly(truth=Truth(kappa=0.0))
    wrong = replace(sortie, ias_kt=sortie.ias_kt / KT_PER_MPH)
    more = {
        "TAS (kt)": sortie.tas_kt,
        "impact pressure (hPa)": impact_pa(sortie.ias_kt * KT) / 100.0,
    }
    result = program.run("reduce", written(log_text(wrong, more=more)), "--preview")
    assert result.exit_code == 0
    assert "airspeed from indicated airspeed" not in result.stdout
    warnings = result.stderr.splitlines()
    assert len(warnings) == 2
    assert all("'IAS (kt)'" in line for line in warnings)
    assert "'impact pressure (hPa)'" in result.stderr
    assert "'TAS (kt)'" in result.stderr


def test_an_airspeed_that_the_log_does_not_have_cannot_be_asked_for(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    result = program.run(
        "reduce", written(rough_log), "--preview", "--airspeed-from", "impact_pressure"
    )
    assert_explained(result, 36, "no impact pressure")


def test_runs_that_must_not_be_solved_are_told_with_the_reason(
    program: Program, written: Callable[..., Path]
) -> None:
    lone = Card(airspeeds_kt=(100.0,), legs=4)
    pair = Card(airspeeds_kt=(75.0,), legs=2)
    both = [fly(card) for card in (lone, pair)]
    joined = replace(
        both[0],
        **{  # type: ignore[arg-type]
            name: np.concatenate([getattr(sortie, name) for sortie in both])
            for name in ("ias_kt", "altitude_ft", "oat_degc", "ground_speed_kt", "track_deg")
        },
    )
    text = program.output("reduce", written(log_text(joined)), "--preview")
    assert "1 run solved" in text
    assert "Run 2 (2 legs) was not solved: only 2 legs" in text


def test_a_wild_run_is_kept_but_not_accepted(
    program: Program, written: Callable[..., Path]
) -> None:
    sortie = fly(Card(airspeeds_kt=(100.0,), legs=4, leg_s=60))
    gusty = sortie.ground_speed_kt.copy()
    # The wind jumps before the last leg.
    gusty[-(60 + 30) :] += 12.0
    log = written(log_text(replace(sortie, ground_speed_kt=gusty)))
    done = program.json("reduce", log, *WHO)
    assert [run["accepted"] for run in done["runs"]] == [False]
    assert "spare legs disagree" in done["runs"][0]["reason"]
    point = program.json("points", "list", "--rejected")["points"][0]
    assert point["reason"] == done["runs"][0]["reason"]


@pytest.mark.long
def test_every_format_of_a_reduction_can_be_read(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    log = written(rough_log)
    found = program.json("reduce", log, "--preview")
    assert (found["kind"], found["format_version"]) == ("reduction", 1)
    assert any("Advisory" in sentence for sentence in found["caution"])
    text = program.output("reduce", log, "--preview", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [float(row["kappa"]) for row in rows] == [run["kappa"] for run in found["runs"]]
    assert "Advisory only" in program.output("reduce", log, "--preview")
    table = program.output("reduce", log, "--preview", "--details")
    assert "pitot pressure is taken as free of error" in table


@pytest.mark.long
def test_reductions_pool_into_a_curve_that_holds_the_truth_here_and_where_they_are_sent(
    program: Program, written: Callable[..., Path], begun_file: str, tmp_path: Path
) -> None:
    rng = np.random.default_rng(3)
    for number in range(9, 15):
        truth = Truth(
            kappa=0.04 + float(rng.normal(0.0, 0.005)),
            wind_east_kt=float(rng.normal(0.0, 12.0)),
            temperature_bias_k=float(rng.normal(0.0, 0.7)),
            roughness=1.0,
        )
        log = written(log_text(fly(truth=truth, seed=number)), f"flight{number}.csv")
        program.output("reduce", log, "--airframe", f"C-{number:02d}", "--weight-kg", 590)
    rows = program.json("curve", WING)["rows"]
    # kappa = 0.04: CAS = IAS*sqrt(1.04) while the air hardly compresses.
    told = {row["ias_kt"]: row for row in rows if row["correction_kt"] is not None}
    for speed in (80.0, 100.0, 120.0):
        true = speed * (np.sqrt(1.04) - 1.0)
        assert told[speed]["mean_low_kt"] < true < told[speed]["mean_high_kt"]
        assert told[speed]["mean_high_kt"] - told[speed]["mean_low_kt"] < 2.5
    other = Program(copy_store(begun_file, tmp_path / "other.sqlite3"))
    program.output("points", "list", "--out", tmp_path / "points.csv")
    other.output("points", "import", tmp_path / "points.csv")
    bands = ("correction_kt", "mean_low_kt", "mean_high_kt", "next_low_kt", "next_high_kt")
    for row in other.json("curve", WING)["rows"]:
        if row["correction_kt"] is not None:
            # Sent on, the shared terms of a point are one: that changes what points of one
            # sortie have in common, by little because the airspeed indicator's part leads.
            for name in bands:
                assert row[name] == pytest.approx(told[row["ias_kt"]][name], abs=0.06)


@pytest.mark.long
def test_a_declination_turns_the_wind_and_nothing_else(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    log = written(rough_log.replace("deg true", "deg magnetic"))
    plain = program.json("reduce", log, "--preview")
    turned = program.json("reduce", log, "--preview", "--declination-deg", 5)
    assert (plain["track_reference"], turned["track_reference"]) == ("magnetic", "true")
    for one, other in zip(plain["runs"], turned["runs"], strict=True):
        assert other["wind_from_deg"] == pytest.approx(one["wind_from_deg"] + 5.0, abs=1e-6)
        assert other["kappa"] == pytest.approx(one["kappa"], abs=1e-9)
    assert "magnetic north" in program.output("reduce", log, "--details")


def test_a_declination_for_true_tracks_is_refused(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    log = written(rough_log)
    result = program.run("reduce", log, "--preview", "--declination-deg", 5)
    assert_explained(result, 3, "flight.csv", "true already")


def test_whole_boxes_with_their_turns_give_the_same_kappa_as_their_legs(
    program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    log = written(rough_log)
    done = program.json("reduce", log, *WHO, "--solve-by", "manoeuvres")
    assert len(done["runs"]) == 3
    for run in done["runs"]:
        assert run["kappa"] == pytest.approx(0.05, abs=2.0 * run["u_kappa"])
        assert run["load_factor"] > 1.0
    points = program.json("points", "list")["points"]
    assert {point["technique"] for point in points} == {"gps manoeuvre"}
    # A turn loads the wing, which counts like more weight.
    for point, run in zip(points, done["runs"], strict=True):
        assert point["weight_kg"] == pytest.approx(580.0 * run["load_factor"], rel=1e-9)


@pytest.mark.parametrize("words", [("--keep-log",), ("--new-airframe",), ("--note", "smooth")])
def test_what_is_for_a_kept_flight_needs_its_airframe(
    words: tuple[str, ...], program: Program, rough_log: str, written: Callable[..., Path]
) -> None:
    result = program.run("reduce", written(rough_log), *words)
    assert result.exit_code == 2
    assert words[0] in result.stderr
    assert "--airframe" in result.stderr
