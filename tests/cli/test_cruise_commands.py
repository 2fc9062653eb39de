"""Cruise by the commands, against the speeds that the invented polar gives."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_cruise import BOOK, FLEET, density_ratio, flown, true_tas
from tests.cli.invented_fleet import fleet_toml
from tests.cli.invented_sortie import Truth, fly, log_text
from tests.store_places import begun_at


def begin(folder: Path, rows: str = "", **how: object) -> Program:
    """A store of six airframes with their runs and powers, and a handbook's lines."""
    book = BOOK.format(rows=rows) if rows else ""
    (folder / "fleet.toml").write_text(fleet_toml(FLEET) + book, encoding="utf-8")
    points, powers = flown(**how)
    (folder / "points.csv").write_text(points, encoding="utf-8")
    (folder / "powers.csv").write_text(powers, encoding="utf-8")
    program = Program(begun_at(folder / "cruise.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    assert "30 runs: 30 new" in program.output("power", "--file", folder / "powers.csv")
    return program


@pytest.mark.long
def test_the_table_is_that_of_the_polar_and_a_handbook_too_fast_is_told(folder: Path) -> None:
    truth = {(p, h): true_tas(p, h) for p in (65.0, 75.0) for h in (4000.0, 8000.0)}
    # the handbook promises 8 kt more at 75 %, and what is true at 65 %
    lines = [f"[{p}, {h}, {v + (8.0 if p > 70 else 0.0)}]" for (p, h), v in truth.items()]
    program = begin(folder, ", ".join(lines))
    found = program.json("curve", "--quantity", "cruise")
    assert len(found["lines"]) == 4
    for line in found["lines"]:
        true = truth[line["power_pct"], line["pressure_altitude_ft"]]
        assert line["mean_low_kt"] < true < line["mean_high_kt"]
        assert line["tas_kt"] == pytest.approx(true, abs=1.5)
        assert line["next_low_kt"] < line["mean_low_kt"]
        planted = 8.0 if line["power_pct"] > 70 else 0.0
        assert line["difference_low_kt"] < planted < line["difference_high_kt"]
        assert (line["difference_low_kt"] > 0.0) == (planted > 0.0)
        assert line["note"] == ""
    assert {a["verdict"] for a in found["airframes"]} == {"inside"}
    assert "caution" in found
    told = program.output("curve", "--quantity", "cruise", "75 kW four / two-blade fixed")
    assert "handbook minus the pooled curve" in told
    assert "advisory" in told.casefold()


@pytest.mark.long
def test_without_errors_every_altitude_weight_and_temperature_gives_the_same_line(
    folder: Path,
) -> None:
    program = begin(folder, error=0.0)
    found = program.json("curve", "--quantity", "cruise", "--power-pct", 60, "--altitude-ft", 3000)
    (line,) = found["lines"]
    assert line["tas_kt"] == pytest.approx(true_tas(60.0, 3000.0), abs=0.1)
    for run in found["runs"]:
        truth = true_tas(run["power_pct"], run["pressure_altitude_ft"])
        assert run["standard_tas_kt"] == pytest.approx(truth, abs=0.15)
        assert run["less_curve_kt"] == pytest.approx(0.0, abs=0.1)
        assert run["u_standard_tas_kt"] > 0.5


@pytest.mark.long
def test_a_charts_power_is_brought_to_the_temperature_of_the_day(folder: Path) -> None:
    program = begin(folder, error=0.0, warmer_k=20.0, charted=True)
    (line,) = program.json(
        "curve", "--quantity", "cruise", "--power-pct", 65, "--altitude-ft", 6000
    )["lines"]
    assert line["tas_kt"] == pytest.approx(true_tas(65.0, 6000.0), abs=0.15)
    run = program.json("points", "list", "--quantity", "cruise")["runs"][0]
    assert run["power_now_pct"] == pytest.approx(0.966 * run["power_pct"], rel=0.003)


@pytest.mark.long
def test_nothing_is_told_at_speeds_that_nobody_flew(folder: Path) -> None:
    program = begin(folder)
    words = ("--power-pct", 40, "--power-pct", 110, "--power-pct", 65, "--altitude-ft", 5000)
    slow, middle, fast = program.json("curve", "--quantity", "cruise", *words)["lines"]
    assert "slower than VIW" in slow["note"]
    assert "faster than VIW" in fast["note"]
    assert [slow["tas_kt"], fast["tas_kt"], fast["mean_low_kt"]] == [None] * 3
    assert middle["tas_kt"] is not None
    (high,) = program.json(
        "curve", "--quantity", "cruise", "--power-pct", 65, "--altitude-ft", 11000
    )["lines"]
    assert "carried here by the power relation: flown from" in high["note"]


@pytest.mark.long
def test_one_airframe_is_told_alone_and_an_odd_one_among_the_others(folder: Path) -> None:
    program = begin(folder, odd={"C-04": 1.35})
    found = program.json("curve", "--quantity", "cruise", "--power-pct", 65, "--altitude-ft", 5000)
    verdicts = {a["airframe"]: a for a in found["airframes"]}
    assert {t for t, a in verdicts.items() if a["verdict"] == "outside"} == {"C-04"}
    assert verdicts["C-04"]["departure_kt"] < -8.0
    words = ("curve", "--quantity", "cruise", "--airframe", "C-04")
    own = program.json(*words, "--power-pct", 65, "--altitude-ft", 5000)
    (line,) = own["lines"]
    truth = true_tas(65.0, 5000.0, drag=1.35)
    assert line["mean_low_kt"] < truth < line["mean_high_kt"]
    assert line["next_low_kt"] is None
    assert own["airframes"] == []
    assert "C-04 alone" in program.output(*words)


@pytest.mark.long
def test_the_lines_are_csv_and_a_rejected_point_leaves_the_pool(folder: Path) -> None:
    program = begin(folder)
    rows = list(
        csv.DictReader(
            io.StringIO(program.output("curve", "--quantity", "cruise", "--format", "csv"))
        )
    )
    assert len(rows) == 15
    places = [(float(row["pressure_altitude_ft"]), float(row["power_pct"])) for row in rows]
    assert places == sorted(places)
    before = program.json("curve", "--quantity", "cruise")
    program.output("points", "reject", 3, "--reason", "gusts")
    after = program.json("curve", "--quantity", "cruise")
    assert len(after["runs"]) == len(before["runs"]) - 1
    assert "1 point of C-01: not accepted: gusts" in after["notes"]
    assert "3 is left out: not accepted: gusts" in program.output(
        "points", "list", "--quantity", "cruise"
    )


@pytest.mark.long
def test_powers_are_noted_changed_forgotten_and_taken_back(folder: Path) -> None:
    program = begin(folder)
    told = program.output("power", 3, 4, "--power-pct", 61, "--standard-air")
    assert told == "2 runs at 61 %: 2 new or changed.\n"
    run = program.json("points", "list", "--quantity", "cruise")["runs"][2]
    assert (run["power_pct"], run["u_power_pct"], run["basis"]) == (61.0, 3.0, "standard air")
    program.output("undo")
    assert program.json("points", "list", "--quantity", "cruise")["runs"][2]["basis"] == "actual"
    program.output("power", 3, "--none")
    assert len(program.json("points", "list", "--quantity", "cruise")["runs"]) == 29
    assert_explained(program.run("power", 3, "--none"), 35, "no power is noted for point 3")


@pytest.mark.long
def test_a_fleet_file_with_a_cruise_table_comes_out_as_it_went_in(folder: Path) -> None:
    program = begin(folder, "[75, 0, 118.5], [65, 8000, 116]")
    again = folder / "again.toml"
    program.output("show", "fleet", "--out", again)
    assert "cruise_table" in again.read_text(encoding="utf-8")
    assert " 0 changed" in program.output("fleet", "load", again)
    (line, _) = program.json("curve", "--quantity", "cruise")["lines"]
    assert (line["pressure_altitude_ft"], line["handbook_tas_kt"]) == (0.0, 118.5)


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("point,power_pct\n1,abc\n", 34, "line 2, column power_pct: 'abc'"),
        ("point,power_pct\n1.5,65\n", 34, "column point"),
        ("point,power_pct,basis\n1,65,guess\n", 34, "column basis"),
        ("point\n1\n", 33, "'power_pct' is missing"),
        ("point,power_pct\n99,65\n", 35, "no point 99"),
        ("point,power_pct\n1,65\n1,70\n", 3, "2 times"),
    ],
)
def test_a_wrong_file_of_powers_is_explained(folder: Path, text: str, code: int, said: str) -> None:
    program = begin(folder)
    file = folder / "wrong.csv"
    file.write_text(text, encoding="utf-8")
    assert_explained(program.run("power", "--file", file), code, said)


@pytest.mark.long
def test_too_few_airframes_and_wrong_names_are_explained(folder: Path) -> None:
    program = begin(folder)
    assert_explained(program.run("curve", "--quantity", "cruise", "no / such"), 35, "no / such")
    assert_explained(program.run("curve", "--quantity", "cruise", "--airframe", "C-99"), 35, "C-99")
    for point in range(11, 31):
        program.output("power", point, "--none")
    assert_explained(
        program.run("curve", "--quantity", "cruise"), 5, "3 airframes; the largest has 2"
    )
    for point in range(1, 11):
        program.output("power", point, "--none")
    assert_explained(program.run("curve", "--quantity", "cruise"), 5, "no usable run with a power")


def test_a_cruise_table_with_wrong_lines_is_explained(folder: Path) -> None:
    program = begin(folder)
    for rows, said in (("[75, 8000]", "three numbers"), ("[175, 0, 100]", "no line of a cruise")):
        (folder / "wrong.toml").write_text(BOOK.format(rows=rows), encoding="utf-8")
        assert_explained(program.run("fleet", "load", folder / "wrong.toml"), 34, said)


def log_with_power(wrong_from: int | None = None) -> str:
    """A log with a column of percent power in proportion to its airspeed."""
    sortie = fly(truth=Truth(kappa=0.05))
    power = 0.6 * sortie.ias_kt
    if wrong_from is not None:
        power[wrong_from:] += 30.0
    return log_text(sortie, more={"engine power (%)": power})


def test_the_power_is_read_from_the_log_that_was_reduced(program: Program, folder: Path) -> None:
    log = folder / "flight.csv"
    log.write_text(log_with_power(), encoding="utf-8")
    program.output("reduce", log, "--airframe", "C-03", "--weight-kg", 580)
    found = program.json("power", "--log", log)
    assert [run["power_pct"] for run in found["runs"]] == pytest.approx([45.0, 60.0, 75.0], abs=0.3)
    assert found["changed"] == 3
    for run in program.json("points", "list", "--quantity", "cruise")["runs"]:
        assert (run["origin"], run["basis"]) == ("log", "actual")
        air = (Truth().warmer_than_standard_k, Truth().humidity)
        sigma = density_ratio(run["pressure_altitude_ft"], *air)
        viw = run["tas_kt"] * (sigma * 600.0 / 580.0) ** 0.5
        assert run["viw_kt"] == pytest.approx(viw, abs=0.3)
    assert program.json("power", "--log", log)["changed"] == 0


def test_a_power_that_was_not_held_is_not_noted_and_a_missing_column_is_explained(
    program: Program, folder: Path
) -> None:
    log = folder / "flight.csv"
    log.write_text(log_with_power(wrong_from=300), encoding="utf-8")
    assert_explained(program.run("power", "--log", log), 37, "no run of this file")
    program.output("reduce", log, "--airframe", "C-03", "--weight-kg", 580)
    runs = program.json("power", "--log", log)["runs"]
    assert "the power was not held" in runs[0]["why_not"]
    assert runs[1]["power_pct"] == pytest.approx(90.0, abs=0.3)
    words = ("power", "--log", log, "--column")
    assert_explained(program.run(*words, "torque"), 33, "no column 'torque'")
    log.write_text(log_text(fly()), encoding="utf-8")
    assert_explained(program.run("power", "--log", log), 33, "no column names it")
