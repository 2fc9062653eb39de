"""Bench and leak checks through the commands, and what they do to reductions and pools."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import HEADINGS
from tests.cli.invented_fleet import TAIL
from tests.store_places import begun_at, copy_store, opened

INDICATOR = "indicated_kt,correction_kt\n60,0.5\n90,0\n120,-1.5\n"
# about 110.5 kt of true airspeed on headings 15, 135 and 255, in a wind of 11 kt from 250
LEGS = f"{HEADINGS}1,105,3000,9,117,19\n1,105,3000,9,116,130\n1,105,3000,9,100,256\n"
FLIGHT = ("--airframe", "C-02", "--weight-kg", 580, "--date", "2024-05-02")
FLOWN_ON = "2024-03-05"


@pytest.fixture
def few(few_file: str, folder: Path) -> Program:
    return Program(copy_store(few_file, folder / "store.sqlite3"))


def write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def enter(program: Program, file: Path, day: str = "2024-03-01", **changes: str) -> str:
    options = {"--airframe": "C-02", "--date": day, "--u-kt": "0.2", **changes}
    return program.output(
        "bench", "enter", "airspeed", file, *(w for o in options.items() for w in o)
    )


def leak(program: Program, day: str, loss_ft: float, tag: str = "C-03") -> None:
    program.output("bench", "enter", "leak", "--airframe", tag, "--date", day, "--loss-ft", loss_ft)


def kept_settings(program: Program) -> dict[str, Any]:
    with opened(program.store) as connection:
        ((text,),) = connection.execute("SELECT settings_json FROM sortie").fetchall()
    found = json.loads(text)
    assert isinstance(found, dict)
    return found


def test_a_bench_check_moves_the_airspeed_and_takes_the_place_of_the_default(
    program: Program, folder: Path, tmp_path: Path
) -> None:
    plain = Program(copy_store(program.store, tmp_path / "plain.sqlite3"))
    legs = write(folder, "legs.csv", LEGS)
    enter(program, write(folder, "indicator.csv", INDICATOR))
    (without,) = plain.json("reduce", legs, *FLIGHT)["runs"]
    checked = program.json("reduce", legs, *FLIGHT)
    (run,) = checked["runs"]
    assert without["vic_kt"] == pytest.approx(105.0)
    assert run["vic_kt"] == pytest.approx(105.0 - 0.75)  # halfway between 0 and -1.5
    # the ground speeds tell one and the same true airspeed
    assert run["tas_kt"] == pytest.approx(without["tas_kt"], abs=0.02)
    assert run["dvpc_kt"] == pytest.approx(without["dvpc_kt"] + 0.75, abs=0.02)
    terms = {t["name"]: t for t in run["terms"]}
    usual = {t["name"]: t for t in without["terms"]}
    indicator = "airspeed indicator"
    ratio = abs(terms[indicator]["u_kappa"] / usual[indicator]["u_kappa"])
    # Without a check the indicator may be 2 kt off either way, each as likely; a check
    # of 0.2 kt has drifted by little since.
    assert ratio == pytest.approx(0.2 / (2.0 / np.sqrt(3.0)), rel=0.05)
    assert run["U95_as_read_kt"] == pytest.approx(without["U95_as_read_kt"], rel=0.02)
    assert without["u_dvpc_kt"] > 1.4 > run["u_dvpc_kt"]
    assert without["U95_dvpc_kt"] > 3.0 > run["U95_dvpc_kt"] > run["U95_as_read_kt"]
    (scatter,) = [t["degrees_of_freedom"] for t in without["terms"] if t["kind"] == "A"]
    assert without["scatter_degrees_of_freedom"] == pytest.approx(scatter)
    assert without["degrees_of_freedom"] > 4.0 * scatter
    shown = plain.output("reduce", legs, *FLIGHT, "--preview", "--details")
    assert "As your indicator reads it, the correction dVpc is right to" in shown
    assert "because the indicator was never on a bench" in shown
    assert f"scatter is estimated with {scatter:.0f} degrees of freedom" in shown
    assert terms[indicator]["note"].endswith("bench check of 2024-03-01")
    assert usual[indicator]["note"].endswith("no bench check")
    assert terms["altimeter"]["note"] == usual["altimeter"]["note"]
    airspeed, altimeter = [note for note in checked["notes"] if "bench check" in note.lower()]
    assert airspeed.startswith("Bench check of 2024-03-01 (number 1")
    assert altimeter.startswith("No bench check applied to the altimeter")
    assert kept_settings(program)["bench"]["airspeed"]["bench_check_id"] == 1
    assert kept_settings(plain)["bench"] == {"airspeed": None, "altimeter": None}
    assert kept_settings(program)["uncertainty"]["u_airspeed_kt"] == pytest.approx(0.2, rel=0.05)
    again = write(folder, "again.csv", LEGS + "\n")
    answer = program.output("reduce", again, *FLIGHT, "--another-flight")
    assert "your indicator, its own error taken out, reads" in " ".join(answer.split())
    assert "its own error taken out" not in shown


def test_a_later_check_does_not_touch_an_earlier_flight(program: Program, folder: Path) -> None:
    enter(program, write(folder, "indicator.csv", INDICATOR), day="2024-05-03")
    (run,) = program.json("reduce", write(folder, "legs.csv", LEGS), *FLIGHT)["runs"]
    assert run["vic_kt"] == pytest.approx(105.0)


def test_readings_beyond_the_check_are_warned_of(program: Program, folder: Path) -> None:
    enter(program, write(folder, "indicator.csv", "indicated_kt,correction_kt\n60,1\n90,2\n"))
    done = program.run("reduce", write(folder, "legs.csv", LEGS), *FLIGHT)
    assert "Warning: the airspeed check of 2024-03-01 reaches from 60 to 90 kt" in done.stderr
    (point,) = program.json("points", "list")["points"]
    assert point["vic_kt"] == pytest.approx(107.0)


def test_a_preview_says_that_it_applies_no_check(program: Program, folder: Path) -> None:
    enter(program, write(folder, "indicator.csv", INDICATOR))
    legs = write(folder, "legs.csv", LEGS)
    shown = program.output("reduce", legs, *FLIGHT, "--preview", "--details")
    assert "A preview applies no bench check." in shown
    assert "not a verdict of airworthiness" in shown


def test_the_same_card_twice_adds_nothing_and_another_of_that_day_is_refused(
    program: Program, folder: Path
) -> None:
    card = write(folder, "indicator.csv", INDICATOR)
    assert enter(program, card) == "Airspeed check 1 of C-02 on 2024-03-01: 3 lines entered.\n"
    assert "nothing was added" in enter(program, card)
    # the same card for another day or airframe is another check
    assert "check 2 of C-02" in enter(program, card, day="2025-03-01")
    assert "check 3 of C-05" in enter(program, card, **{"--airframe": "C-05"})
    other = write(folder, "other.csv", INDICATOR.replace("-1.5", "-1.0"))
    before = folder_content(folder)
    refused = program.run(
        "bench",
        "enter",
        "airspeed",
        other,
        "--airframe",
        "C-02",
        "--date",
        "2024-03-01",
        "--u-kt",
        0.3,
    )
    assert_explained(refused, 3, "has one of that day, number 1")
    assert folder_content(folder) == before
    program.output("bench", "withdraw", "airspeed", 1, "--reason", "wrong card")
    assert "check 4 of C-02" in enter(program, other)
    listed = program.json("show", "checks", "--airframe", "C-02")["checks"]
    assert [(c["number"], c["withdrawn"]) for c in listed] == [
        (1, "wrong card"),
        (4, ""),
        (2, ""),
    ]


@pytest.mark.parametrize(
    ("text", "code", "named"),
    [
        ("", 31, "the file is empty"),
        ("indicated_kt,correction_kt\n", 31, "no rows"),
        ("indicated_kt,correction_kt,colour\n60,1,2\n", 34, "'colour'"),
        ("indicated_kt\n60\n", 33, "no column correction_kt"),
        ("indicated_kt,correction_kt\n60,a little\n", 34, "line 2, column correction_kt"),
        ("indicated_kt,correction_kt\n60,\n", 34, "line 2, column correction_kt"),
        ("indicated_kt,correction_kt\n60,1\n60,2\n", 34, "line 3, column indicated_kt"),
        ("indicated_kt,correction_kt\n60,1\n900,2\n", 34, "line 3, column indicated_kt"),
        ("indicated_kt,correction_kt\n60,100\n", 34, "line 2, column correction_kt"),
        ("indicated_kt,correction_kt\n60,1,2\n", 34, "line 2: 3 cells"),
        ("indicated_kt,correction_kt\n60,nan\n", 34, "line 2, column correction_kt"),
    ],
)
def test_a_bad_card_is_refused_whole(
    text: str, code: int, named: str, program: Program, folder: Path
) -> None:
    card = write(folder, "card.csv", text)
    before = folder_content(folder)
    words = ("--airframe", "C-02", "--date", "2024-03-01", "--u-kt", 0.3)
    assert_explained(
        program.run("bench", "enter", "airspeed", card, *words), code, "card.csv", named
    )
    assert folder_content(folder) == before


def test_unknown_airframes_and_checks_are_named(program: Program, folder: Path) -> None:
    words = ("--airframe", "C-99", "--date", "2024-03-01")
    card = write(folder, "card.csv", INDICATOR)
    for command in (
        ("bench", "enter", "airspeed", card, *words, "--u-kt", 0.3),
        ("bench", "enter", "leak", *words, "--loss-ft", 20),
        ("show", "checks", "--airframe", "C-99"),
    ):
        assert_explained(program.run(*command), 35, "C-99")
    gone = program.run("bench", "withdraw", "leak", 5, "--reason", "x")
    assert_explained(gone, 35, "leak check 5")


def test_an_altimeter_card_moves_the_altitude(program: Program, folder: Path) -> None:
    card = write(folder, "altimeter.csv", "indicated_ft,correction_ft\n0,10\n3000,-40\n")
    words = ("--airframe", "C-02", "--date", "2024-03-01", "--u-ft", 8)
    program.output("bench", "enter", "altimeter", card, *words)
    (run,) = program.json("reduce", write(folder, "legs.csv", LEGS), *FLIGHT)["runs"]
    assert run["pressure_altitude_ft"] == pytest.approx(2960.0)
    (check,) = program.json("show", "checks")["checks"]
    assert (check["kind"], check["unit"], check["u"]) == ("altimeter", "ft", 8.0)
    assert (check["lines"], check["lowest"], check["highest"]) == (2, 0.0, 3000.0)
    assert check["largest_correction"] == -40.0


def test_a_leak_within_the_limit_passes_and_says_by_what_rule(program: Program) -> None:
    words = ("bench", "enter", "leak", "--airframe", "C-02", "--date", "2024-03-01")
    told = program.output(*words, "--loss-ft", 20)
    assert "passed, 20 ft against 100 ft (14 CFR 23.1325(b)(2)(i)" in told
    failed = program.run(*words, "--loss-ft", 120)
    assert "FAILED" in failed.stdout
    assert "barred from every pool" in failed.stderr
    assert_explained(program.run(*words, "--loss-ft", 20, "--limit-ft", 50), 3, "50 ft")
    own = program.output(
        *words, "--loss-ft", 60, "--limit-ft", 50, "--limit-source", "maintenance manual"
    )
    assert "FAILED, 60 ft against 50 ft (maintenance manual)" in own


@pytest.mark.long
def test_a_failed_leak_check_bars_from_every_pool_without_rejecting(few: Program) -> None:
    before = few.json("curve", TAIL, "--with", "C-03")
    leak(few, "2024-06-01", 140.0)
    listed = few.json("points", "list")["points"]
    barred = [p for p in listed if p["barred"]]
    assert {p["airframe"] for p in barred} == {"C-03"}
    assert len(barred) == 6
    assert all(p["accepted"] and p["reason"] == "" for p in listed)
    curve = few.json("curve", TAIL)
    assert (before["airframes"], curve["airframes"]) == (6, 5)
    (said,) = curve["left_out"]
    assert said.startswith(
        "6 points of C-03: static leak check failed on 2024-06-01: 140 ft lost in one minute"
    )
    outliers = few.json("outliers")
    first = outliers["airframes"][0]
    assert (first["airframe"], first["verdict"]) == ("C-03", "set aside")
    assert first["reason"].startswith("6 points: static leak check failed")
    assert few.json("standing", "C-03")["airframes"] == [first]
    (line,) = [g for g in few.json("groups")["groups"] if g["group"].startswith(TAIL)]
    assert (line["airframes"], line["points"]) == (5, 30)
    assert (line["rejected_points"], line["barred_points"]) == (0, 6)


@pytest.mark.long
def test_publishing_names_what_is_barred(few: Program, folder: Path) -> None:
    leak(few, "2024-06-01", 140.0)
    few.output("publish", TAIL, "--out", folder / "pages", "--date", "2024-07-01")
    (page,) = (folder / "pages").glob("*.html")
    text = page.read_text(encoding="utf-8")
    assert "6 points of C-03: static leak check failed on 2024-06-01" in text
    table = few.json("curve", TAIL)
    assert table["airframes"] == 5
    assert max(row["airframes"] for row in table["rows"]) == 5


def test_a_bar_is_lifted_by_a_passed_check_before_the_flight_or_by_withdrawing(
    few: Program,
) -> None:
    def barred() -> int:
        return sum(bool(p["barred"]) for p in few.json("points", "list")["points"])

    leak(few, "2024-01-10", 140.0)
    assert barred() == 6
    leak(few, FLOWN_ON, 30.0)  # passed from the day of the flight on
    assert barred() == 0
    leak(few, "2024-06-01", 150.0)
    assert barred() == 6
    leak(few, "2024-06-05", 15.0)  # later: does not clear what was flown before the failure
    assert barred() == 6
    few.output("bench", "withdraw", "leak", 3, "--reason", "read 150 for 15")
    assert barred() == 0


def test_a_group_that_is_barred_below_three_airframes_says_so(few: Program) -> None:
    leak(few, "2024-06-01", 140.0, "C-07")
    refused = few.run("outliers", "mid-fuselage raised disc pair")
    assert_explained(refused, 5, "of 2 of the 3 airframes", "barred by failed leak checks: C-07")


def test_barred_points_come_into_another_store_as_not_accepted(
    few: Program, folder: Path, few_file: str, tmp_path: Path
) -> None:
    leak(few, "2024-06-01", 140.0)
    file = folder / "points.csv"
    few.output("points", "list", "--out", file, "--airframe", "C-03")
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))
    assert {row["accepted"] for row in rows} == {"yes"}
    assert all(row["barred"].startswith("static leak check failed") for row in rows)
    other = Program(begun_at(tmp_path / "other.sqlite3"))
    few.output("show", "fleet", "--out", folder / "fleet.toml")
    other.output("fleet", "load", folder / "fleet.toml")
    other.output("points", "import", file)
    points = other.json("points", "list")["points"]
    assert len(points) == 6
    assert not any(p["accepted"] for p in points)
    reasons = {p["reason"] for p in points}
    assert all(r.startswith("barred where it came from: static leak check") for r in reasons)


def test_checks_are_listed_for_people_and_for_programs(program: Program, folder: Path) -> None:
    enter(program, write(folder, "indicator.csv", INDICATOR))
    leak(program, "2024-03-01", 120.0, "C-02")
    shown = program.output("show", "checks")
    assert shown.startswith("There are 2 checks; 1 failed.\n")
    rows = list(csv.DictReader(io.StringIO(program.output("show", "checks", "--format", "csv"))))
    assert [row["kind"] for row in rows] == ["airspeed", "leak"]
    assert (rows[1]["loss_ft"], rows[1]["passed"]) == ("120.0", "False")
    assert program.json("show", "checks")["kind"] == "checks"
