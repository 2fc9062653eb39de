"""Legs and runs that somebody leaves out or cuts in another way, and weight along the flight."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store_places import opened

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")

#: What stands with the airframe in the store.
PROBE = ("--temperature-shows", "probe")
WHO = ("--airframe", "C-01", "--weight-kg", "580")


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(rough_log)
    return path


def kept_settings(program: Program) -> dict[str, Any]:
    with opened(program.store) as connection:
        ((text,),) = connection.execute("SELECT settings_json FROM sortie").fetchall()
    found: dict[str, Any] = json.loads(text)
    return found


def leg_rows(program: Program, log: Path, *more: object) -> list[dict[str, str]]:
    text = program.output(
        "reduce", log, "--preview", *PROBE, "--format", "csv", "--rows", "legs", *more
    )
    return list(csv.DictReader(io.StringIO(text)))


def write_list(path: Path, rows: list[dict[str, str]]) -> Path:
    with path.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return path


@pytest.mark.long
def test_a_leg_left_out_is_left_out_shown_and_recorded(program: Program, log: Path) -> None:
    plain = program.json("reduce", log, "--preview", *PROBE)
    done = program.json("reduce", log, *WHO, "--drop", "2:3")
    assert [run["leg_count"] for run in done["runs"]] == [4, 3, 4]
    assert [(leg["run"], leg["leg"]) for leg in done["legs"] if leg["run"] == 2] == [
        (2, 1),
        (2, 2),
        (2, 4),
    ]
    (left,) = done["other_legs"]
    assert (left["run"], left["leg"], left["outcome"]) == (2, 3, "left out")
    assert done["runs"][1]["kappa"] != plain["runs"][1]["kappa"]
    for number in (0, 2):  # which it helped to tell the wind
        moved = abs(done["runs"][number]["kappa"] - plain["runs"][number]["kappa"])
        assert 0.0 < moved < 0.2 * plain["runs"][number]["u_kappa"]
    assert kept_settings(program)["choices"] == {"dropped_legs": [[2, 3]], "kept_runs": []}
    text = program.output("reduce", log, "--preview", "--drop", "2:3")
    assert "\nby hand: leg 3 of run 2 left out\n" in text


@pytest.mark.long
def test_only_the_runs_kept_are_solved(program: Program, log: Path) -> None:
    plain = program.json("reduce", log, "--preview", *PROBE)
    done = program.json("reduce", log, *WHO, "--keep", "3", "--keep", "1")
    assert [run["run"] for run in done["runs"]] == [1, 3]
    assert done["refused"] == []
    # the run that is left out tells nothing of their wind any more
    for run, before in zip(done["runs"], (plain["runs"][0], plain["runs"][2]), strict=True):
        assert 0.0 < abs(run["kappa"] - before["kappa"]) < 0.2 * before["u_kappa"]
    assert {leg["outcome"] for leg in done["other_legs"]} == {"left out"}
    assert kept_settings(program)["choices"]["kept_runs"] == [1, 3]
    assert len(program.json("points", "list")["points"]) == 2
    assert "only run 2 kept" in program.output("reduce", log, "--preview", "--keep", "2")


def test_without_a_choice_none_is_recorded(program: Program, log: Path) -> None:
    assert program.json("reduce", log, *WHO)["choices"] == []
    assert "choices" not in kept_settings(program)


@pytest.mark.parametrize(
    ("words", "exit_code", "named"),
    [
        (("--drop", "4:1"), 3, "no run 4"),
        (("--drop", "1:5"), 3, "no leg 5 in run 1"),
        (("--keep", "9"), 3, "no run 9"),
        (("--keep", "2", "--drop", "2:1", "--drop", "2:2"), 37, "only 2 legs"),
    ],
)
def test_a_choice_that_does_not_fit_the_flight_is_refused(
    words: tuple[str, ...], exit_code: int, named: str, program: Program, log: Path, folder: Path
) -> None:
    before = folder_content(folder)
    assert_explained(program.run("reduce", log, *WHO, *words), exit_code, "flight.csv", named)
    assert folder_content(folder) == before


@pytest.mark.parametrize(
    "words",
    [
        ("--drop", "2"),
        ("--drop", "2:x"),
        ("--keep", "0"),
        ("--drop", "1:1", "--legs", "legs.csv"),
        ("--keep", "1", "--legs", "legs.csv"),
        ("--drop", "1:1", "--solve-by", "manoeuvres"),
        ("--weight-kg", "580", "--takeoff-weight-kg", "600"),
        ("--fuel-used-kg-per-h", "14"),
        ("--weight-kg", "580", "--fuel-used-kg-per-h", "14"),
        ("--out", "flight.gif"),
    ],
)
def test_options_that_contradict_each_other_are_a_usage_error(
    words: tuple[str, ...], program: Program, log: Path
) -> None:
    result = program.run("reduce", log, "--preview", *words)
    assert result.exit_code == 2
    assert result.stderr.startswith("Usage: fleetcal reduce")
    assert result.stdout == ""


@pytest.mark.long
def test_the_list_of_legs_given_back_changes_nothing(
    program: Program, log: Path, folder: Path
) -> None:
    rows = leg_rows(program, log)
    assert len(rows) == 12
    plain = program.json("reduce", log, "--preview", *PROBE)
    write_list(folder / "legs.csv", rows)
    done = program.json("reduce", log, *WHO, "--legs", folder / "legs.csv")
    assert done["legs"] == plain["legs"]
    for one, other in zip(done["runs"], plain["runs"], strict=True):
        assert {k: v for k, v in one.items() if k not in ("terms", "weight_kg")} == {
            k: v for k, v in other.items() if k not in ("terms", "weight_kg")
        }
    kept = kept_settings(program)["choices"]["leg_list"]
    assert kept["name"] == "legs.csv"
    assert len(kept["sha256"]) == 64
    assert [leg["start_s"] for leg in kept["legs"]] == [float(row["start_s"]) for row in rows]


def test_an_edited_list_cuts_the_legs_as_it_says(program: Program, log: Path, folder: Path) -> None:
    rows = [row for row in leg_rows(program, log) if row["run"] == "1"]
    rows[0]["stop_s"] = str(float(rows[0]["stop_s"]) - 20.0)
    for row in rows:
        row["run"] = "7"
    short = [{name: row[name] for name in ("start_s", "run", "stop_s")} for row in rows]
    done = program.json(
        "reduce", log, "--preview", "--legs", write_list(folder / "edited.csv", short)
    )
    assert [run["run"] for run in done["runs"]] == [7]
    assert done["legs"][0]["samples"] == int(rows[0]["samples"]) - 20
    assert done["legs_found"] == 4
    assert done["choices"] == ["4 legs cut as listed in edited.csv"]


@pytest.mark.long
def test_what_was_dropped_stays_dropped_when_the_list_is_given_back(
    program: Program, log: Path, folder: Path
) -> None:
    rows = leg_rows(program, log, "--drop", "1:2", "--keep", "1")
    assert [row["outcome"] for row in rows].count("left out") == 9
    done = program.json("reduce", log, "--preview", "--legs", write_list(folder / "legs.csv", rows))
    again = program.json("reduce", log, "--preview", "--drop", "1:2", "--keep", "1")
    # a row taken away is a leg left out, and does not come back as a turn between two others
    kept = [row for row in rows if row["outcome"] != "left out"]
    bare = program.json("reduce", log, "--preview", "--legs", write_list(folder / "b.csv", kept))
    assert [run["kappa"] for run in bare["runs"]] == [run["kappa"] for run in done["runs"]]
    assert [run["kappa"] for run in done["runs"]] == [run["kappa"] for run in again["runs"]]


def test_a_leg_through_a_turn_is_warned_of(program: Program, log: Path, folder: Path) -> None:
    rows = leg_rows(program, log, "--keep", "1")
    rows[1]["start_s"] = str(float(rows[0]["stop_s"]) + 1.0)
    write_list(folder / "legs.csv", rows)
    result = program.run("reduce", log, "--preview", "--legs", folder / "legs.csv")
    assert result.exit_code == 0
    (warning,) = result.stderr.splitlines()
    assert warning.startswith("Warning: legs.csv, line 3: not a steady leg: ")
    assert "track drifts by" in warning


def changed(rows: list[dict[str, str]], line: int, **cells: str) -> list[dict[str, str]]:
    return [{**row, **cells} if i == line - 2 else row for i, row in enumerate(rows)]


@pytest.mark.parametrize(
    ("line", "cells", "named"),
    [
        (2, {"start_s": "x"}, "column start_s: 'x' is not a number"),
        (3, {"stop_s": ""}, "column stop_s: the cell is empty"),
        (2, {"run": "0"}, "column run: no number of a run"),
        (2, {"run": ""}, "column run: no number of a run"),
        (2, {"run": "1.5"}, "column run: 1.5 is not a whole number"),
        (2, {"start_s": "100", "stop_s": "90"}, "is not within"),
        (5, {"start_s": "90000", "stop_s": "90100"}, "is not within"),
        (3, {"start_s": "190"}, "overlaps the one of line 2"),
        (2, {"start_s": "160", "stop_s": "162"}, "fewer than 5 samples"),
    ],
)
def test_a_wrong_list_of_legs_is_refused_with_its_line(
    line: int, cells: dict[str, str], named: str, program: Program, log: Path, folder: Path
) -> None:
    rows = changed(leg_rows(program, log, "--keep", "1")[:4], line, **cells)
    write_list(folder / "legs.csv", rows)
    before = folder_content(folder)
    result = program.run("reduce", log, *WHO, "--legs", folder / "legs.csv")
    assert_explained(result, 34, f"legs.csv, line {line}", named)
    assert folder_content(folder) == before


def test_a_list_without_a_needed_column_is_refused(
    program: Program, log: Path, folder: Path
) -> None:
    (folder / "legs.csv").write_text("run,start_s\n1,100\n")
    result = program.run("reduce", log, "--preview", "--legs", folder / "legs.csv")
    assert_explained(result, 33, "legs.csv", "no column stop_s")


def test_a_hand_written_sheet_cannot_be_cut_by_a_list(program: Program, folder: Path) -> None:
    (folder / "sheet.csv").write_text(leg_sheet())
    (folder / "legs.csv").write_text("run,start_s,stop_s\n1,100,200\n")
    result = program.run("reduce", folder / "sheet.csv", "--preview", "--legs", folder / "legs.csv")
    assert_explained(result, 3, "sheet.csv", "cannot be cut by a list")


def test_choices_for_what_is_stored_already_are_said_not_to_count(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO)
    result = program.run("reduce", log, *WHO, "--drop", "1:1")
    assert result.exit_code == 0
    assert "is stored with another --drop" in result.stderr
    assert "asking again changes nothing" in result.stderr


@pytest.mark.long
def test_each_run_weighs_what_was_left_of_the_fuel(program: Program, log: Path) -> None:
    used = 36.0  # kg an hour: 10 g a second
    done = program.json(
        "reduce", log, "--airframe", "C-01", "--takeoff-weight-kg", "600",
        "--fuel-used-kg-per-h", str(used),
    )  # fmt: skip
    # The invented flight begins to roll at 60 s and gains 75 kt in 90 s: 40 kt at 107 s.
    takeoff_s = 60.0 + 90.0 * 40.0 / 75.0
    points = program.json("points", "list")["points"]
    for run, point in zip(done["runs"], points, strict=True):
        legs = [leg for leg in done["legs"] if leg["run"] == run["run"]]
        middle_s = (legs[0]["start_s"] + legs[-1]["stop_s"]) / 2.0
        expected = 600.0 - used * (middle_s - takeoff_s) / 3600.0
        assert run["weight_kg"] == pytest.approx(expected, abs=0.05)
        assert point["weight_kg"] == run["weight_kg"]
    weights = [run["weight_kg"] for run in done["runs"]]
    assert weights[0] - weights[-1] > 5.0
    assert done["weight_kg"] == pytest.approx(sum(weights) / 3.0)
    kept = kept_settings(program)["weight"]
    assert kept["takeoff_weight_kg"] == 600.0
    assert kept["fuel_used_kg_per_h"] == used
    assert kept["takeoff_s"] == pytest.approx(takeoff_s, abs=4.0)
    text = program.output(
        "reduce", log, "--takeoff-weight-kg", "600", "--fuel-used-kg-per-h", "36", "--details"
    )
    (title,) = [line for line in text.splitlines() if line.startswith(log.name)]
    assert f"{max(weights):.0f} to {min(weights):.0f} kg" in title
    assert "Weight 600 kg at take-off" in text


def test_a_constant_weight_stays_constant(program: Program, log: Path) -> None:
    done = program.json("reduce", log, *WHO)
    assert {run["weight_kg"] for run in done["runs"]} == {580.0}
    assert "weight" not in kept_settings(program)


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--takeoff-weight-kg", "600"), "no fuel flow"),
        (("--takeoff-weight-kg", "580", "--fuel-used-kg-per-h", "9000"), "of fuel would be used"),
    ],
)
def test_a_weight_that_cannot_be_told_is_refused(
    words: tuple[str, ...], named: str, program: Program, log: Path, folder: Path
) -> None:
    before = folder_content(folder)
    result = program.run("reduce", log, "--airframe", "C-01", *words)
    assert_explained(result, 3, "flight.csv", named)
    assert folder_content(folder) == before


def test_a_run_of_three_legs_left_by_a_choice_is_like_one_flown(
    program: Program, folder: Path
) -> None:
    truth = Truth(kappa=0.05, roughness=1.0)
    (folder / "flight.csv").write_text(log_text(fly(Card(airspeeds_kt=(100.0,)), truth)))
    done = program.json("reduce", folder / "flight.csv", "--preview", "--drop", "1:4")
    (run,) = done["runs"]
    assert run["leg_count"] == 3
    assert run["residual_kt"] is None
    assert run["kappa"] == pytest.approx(0.05, abs=3.0 * run["u_kappa"])


def test_the_fuel_flow_of_the_log_is_taken_off_the_weight(program: Program, folder: Path) -> None:
    sortie = fly(Card(airspeeds_kt=(75.0, 125.0)), Truth(roughness=1.0))
    flow = {"fuel flow (kg/h)": np.full(len(sortie.ias_kt), 36.0)}
    (folder / "flight.csv").write_text(log_text(sortie, more=flow))
    by_log = program.json(
        "reduce", folder / "flight.csv", "--preview", "--takeoff-weight-kg", "600"
    )
    by_hand = program.json(
        "reduce", folder / "flight.csv", "--preview", "--takeoff-weight-kg", "600",
        "--fuel-used-kg-per-h", "36",
    )  # fmt: skip
    weights = [[run["weight_kg"] for run in found["runs"]] for found in (by_log, by_hand)]
    assert weights[0] == pytest.approx(weights[1], abs=1e-6)
    assert weights[0][0] < 600.0
    assert any("the log's fuel flow" in note for note in by_log["notes"])


@pytest.mark.long
def test_a_mapping_says_what_a_heading_does_not_and_is_kept(
    program: Program, log: Path, folder: Path
) -> None:
    plain = program.json("reduce", log, "--preview", *PROBE)
    log.write_text(log.read_text().replace("IAS (kt)", "column one"))
    assert program.run("reduce", log, "--preview").exit_code == 33
    said = 'indicated_airspeed = { column = "column one", unit = "kt" }\n'
    (folder / "mapping.toml").write_text(said)
    done = program.json("reduce", log, *WHO, "--mapping", folder / "mapping.toml")
    assert [run["kappa"] for run in done["runs"]] == [run["kappa"] for run in plain["runs"]]
    assert kept_settings(program)["mapping"] == {"name": "mapping.toml", "text": said}
