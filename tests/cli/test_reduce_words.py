"""What a reduction prints, read by a pilot, a statistician and a club officer."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Card, Truth, fly, log_text

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")

KT_PER_MPH = 1609.344 / 1852.0
WHO = ("--airframe", "C-01", "--weight-kg", "580")
WIDEST = 100

LOGS = {
    "four legs": Card(),
    "three legs": Card(airspeeds_kt=(90.0,), legs=3),
    "fast and high": Card(airspeeds_kt=(180.0,), altitude_ft=12000.0),
}


def reduced(program: Program, folder: Path, text: str, *more: object) -> str:
    (folder / "flight.csv").write_text(text)
    return program.output("reduce", folder / "flight.csv", "--preview", *more)


@pytest.mark.parametrize("card", LOGS.values(), ids=LOGS)
def test_the_tables_fit_a_terminal(program: Program, folder: Path, card: Card) -> None:
    text = reduced(program, folder, log_text(fly(card, Truth(roughness=1.0))), "--details")
    tables = text[text.index("\nAirspeed from") : text.index("\nu is one standard uncertainty")]
    assert max(len(line) for line in tables.splitlines()) <= WIDEST
    for heading in ("Legs", "Wind and true airspeed", "Position error"):
        assert f"\n{heading}" in text


def test_the_tables_of_manoeuvres_fit_a_terminal_and_tell_the_load_factor(
    program: Program, folder: Path, rough_log: str
) -> None:
    text = reduced(program, folder, rough_log, "--solve-by", "manoeuvres", "--details")
    tables = text[text.index("\nAirspeed from") : text.index("\nu is one standard uncertainty")]
    assert max(len(line) for line in tables.splitlines()) <= WIDEST
    assert re.search(r"\bload\b.*\n.*\bfactor\b", text)
    assert "3 manoeuvres solved sample by sample" in text


def test_the_expanded_uncertainty_stands_beside_the_standard_one(
    program: Program, folder: Path, rough_log: str
) -> None:
    text = reduced(program, folder, rough_log, "--details")
    errors = text[text.index("\nPosition error") :].split("\n\n")[0]
    rows = [line.split() for line in errors.splitlines() if re.match(r" *\d", line)]
    assert rows
    for row in rows:  # u and U95 of dVpc, and of dHpc
        for u, expanded in ((row[6], row[7]), (row[9], row[10])):
            assert 1.7 < float(expanded) / float(u) < 2.5
    for run in program.json("reduce", folder / "flight.csv", "--preview")["runs"]:
        for name in ("kappa", "dvpc_kt", "dhpc_ft"):
            # Student's t for 95 % is 1.96 without limit and 2.23 for 10 degrees of freedom
            # (JCGM 100:2008, table G.2); these runs have more than 10, and far more where the
            # tolerance of an indicator never on a bench rules.
            assert run["degrees_of_freedom"] > 10
            assert 1.9599 < run[f"U95_{name}"] / run[f"u_{name}"] < 2.23


def test_three_legs_leave_no_residual_and_a_dash_says_so(program: Program, folder: Path) -> None:
    log = log_text(fly(LOGS["three legs"], Truth(roughness=1.0)))
    text = reduced(program, folder, log, "--details")
    text = text[text.index("\nLegs") :]
    rows = [line.split() for line in text.splitlines() if line.startswith("  1 ")]
    legs, wind = rows[:3], rows[3]
    assert [row[-1] for row in legs] == ["-"] * 3
    assert wind[-1] == "-"
    assert "0.00" not in " ".join(wind)
    found = program.json("reduce", folder / "flight.csv", "--preview")
    assert found["runs"][0]["residual_kt"] is None
    assert {leg["residual_kt"] for leg in found["legs"]} == {None}
    done = program.json("reduce", folder / "flight.csv", *WHO)
    assert done["stored"]
    assert program.json("points", "list")["points"][0]["residual_kt"] is None


def test_one_is_counted_in_the_singular(program: Program, folder: Path) -> None:
    text = reduced(program, folder, log_text(fly(LOGS["three legs"])))
    assert "\n3 steady legs, 1 run solved\n" in text


def test_a_sheet_of_legs_is_not_called_steady(program: Program, folder: Path) -> None:
    assert "\n4 legs written by hand, 1 run solved\n" in reduced(program, folder, leg_sheet())


def test_runs_refused_for_the_same_reason_share_a_sentence(program: Program, folder: Path) -> None:
    names = ("ias_kt", "altitude_ft", "oat_degc", "ground_speed_kt", "track_deg")
    parts = [
        fly(Card(airspeeds_kt=(100.0,))),
        *(fly(Card(airspeeds_kt=(speed,), legs=2)) for speed in (75.0, 125.0)),
    ]
    joined: dict[str, Any] = {
        name: np.concatenate([getattr(part, name) for part in parts]) for name in names
    }
    text = reduced(program, folder, log_text(replace(parts[0], **joined)))
    (sentence,) = [line for line in text.splitlines() if "not solved" in line]
    assert sentence.startswith("Runs 2, 3 (2 legs each) were not solved: only 2 legs")


def test_airspeed_in_another_unit_than_told_is_warned_of(program: Program, folder: Path) -> None:
    sortie = fly(truth=Truth(kappa=0.0))
    slipped = replace(sortie, ias_kt=sortie.ias_kt / KT_PER_MPH)  # miles an hour, called knots
    (folder / "flight.csv").write_text(log_text(slipped))
    result = program.run("reduce", folder / "flight.csv", "--preview")
    assert result.exit_code == 0
    (warning,) = result.stderr.splitlines()
    # Read as knots, the airspeed is 15 % too high, and so 13 % of it must be taken off.
    assert warning.startswith("Warning: runs 1, 2, 3: the airspeed would be off by -13")
    assert "units of airspeed, altitude and temperature" in warning


def test_a_flight_in_the_units_told_is_not_warned_of(
    program: Program, folder: Path, rough_log: str
) -> None:
    (folder / "flight.csv").write_text(rough_log)
    assert program.run("reduce", folder / "flight.csv", "--preview").stderr == ""


def test_no_message_ends_in_a_full_stop(program: Program, folder: Path, rough_log: str) -> None:
    (folder / "flight.csv").write_text(rough_log)
    for words in (
        ("reduce",),
        ("reduce", folder / "flight.csv", "--airframe", "C-01", "--date", "2020-02-02"),
        ("reduce", folder / "flight.csv", "--preview", "--declination-deg", "3"),
        ("reduce", folder / "none.csv", "--preview"),
        ("reduce", folder),
    ):
        said = program.run(*words).stderr.splitlines()
        assert said
        assert [line for line in said if line.startswith(("Error:", "Hint:", "Warning:"))]
        for line in said:
            if line.startswith(("Error:", "Hint:", "Warning:")):
                assert not line.endswith("."), line


@pytest.mark.parametrize(
    ("words", "some"),
    [
        (("points", "list"), {"point_id", "kappa", "dvpc_kt"}),
        (("groups",), {"group", "airframes"}),
        (("show", "checks"), {"kind", "airframe"}),
        (("show", "fleet"), {"airframe"}),
    ],
)
def test_csv_without_rows_still_has_its_headings(
    words: tuple[str, ...], some: set[str], program: Program
) -> None:
    rows = list(csv.reader(io.StringIO(program.output(*words, "--format", "csv"))))
    assert some <= set(rows[0])


@pytest.mark.long
def test_csv_of_what_is_known_already_is_its_headings(
    program: Program, folder: Path, rough_log: str
) -> None:
    (folder / "flight.csv").write_text(rough_log)
    first = program.output("reduce", folder / "flight.csv", *WHO, "--format", "csv")
    second = program.output("reduce", folder / "flight.csv", *WHO, "--format", "csv")
    assert len(first.splitlines()) == 4
    assert second.splitlines() == first.splitlines()[:1]
