"""The store as a whole through the commands: checked, backed up, brought back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.store_places import change


@pytest.fixture
def reduced(flown: Program, folder: Path, rough_log: str) -> Program:
    """A store with imported points and a reduced flight."""
    (folder / "log.csv").write_text(rough_log)
    flown.output("reduce", folder / "log.csv", "--airframe", "C-01", "--weight-kg", 580)
    return flown


@pytest.mark.long
def test_a_sound_store_is_called_whole_and_left_as_it_is(reduced: Program, folder: Path) -> None:
    before = folder_content(folder)
    found = reduced.json("store", "check")
    assert (found["kind"], found["faults"], found["sorties_with_legs"]) == ("store_check", [], 1)
    assert found["points"] > 210
    assert folder_content(folder) == before


LAST = "(SELECT max(id) FROM calibration_point)"


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE leg SET vic_kt = vic_kt * 1.001 WHERE id = 2", "from its stored legs"),
        ("UPDATE leg SET ground_east_kt = ground_east_kt + 12 WHERE id = 3", "stored legs"),
        (f"UPDATE calibration_point SET kappa = kappa + 0.0001 WHERE id = {LAST}", "by its kappa"),
        ("UPDATE calibration_point SET dvpc_kt = dvpc_kt + 0.001 WHERE id = 5", "dvpc_kt is"),
        ("UPDATE uncertainty_term SET u_kappa = u_kappa * 1.01 WHERE id = 5", "by its terms"),
        ("DELETE FROM sortie WHERE id = 3", "refer to no sortie"),
        ("UPDATE equipment_fit SET from_date = '2024-06-01' WHERE id = 1", "was not in force"),
        pytest.param(
            "UPDATE calibration_point SET u_dvpc_kt = -1 WHERE id = 4",
            "CHECK constraint failed",
            marks=pytest.mark.file_store("a server lets nobody break a rule on values"),
        ),
    ],
)
def test_what_was_changed_behind_the_programs_back_is_found(
    reduced: Program, statement: str, named: str
) -> None:
    assert change(reduced.store, statement) > 0
    result = reduced.run("store", "check")
    assert result.exit_code == 4
    assert named in result.stdout
    assert "fault" in result.stderr.splitlines()[0]
    assert len(result.stderr.splitlines()) == 2


def test_a_ground_vector_changed_by_little_is_found_by_the_history_alone(reduced: Program) -> None:
    # Kappa follows from the samples of all runs together, which are not kept: the means of one
    # run's legs tell it within several of its uncertainties and no better.
    change(reduced.store, "UPDATE leg SET ground_east_kt = ground_east_kt + 0.1 WHERE id = 3")
    (fault,) = json.loads(reduced.run("store", "check", "--format", "json").stdout)["faults"]
    assert fault["where"].startswith("sortie ")
    assert "it was changed past the program since change" in fault["what"]


@pytest.mark.long
def test_a_backup_brings_back_what_was_there(flown: Program, folder: Path) -> None:
    before = flown.json("points", "list")
    flown.output("store", "backup", "--out", folder / "b.sqlite3")
    flown.output("points", "reject", 1, 2, "--reason", "by mistake")
    assert_explained(flown.run("store", "restore", folder / "b.sqlite3"), 4, "not empty")
    told = flown.output("store", "restore", folder / "b.sqlite3", "--replace")
    assert "210 of them points" in told
    assert flown.json("points", "list") == before
    assert flown.json("store", "check")["faults"] == []


def test_a_backup_is_not_overwritten(flown: Program, folder: Path) -> None:
    flown.output("store", "backup", "--out", folder / "b.sqlite3")
    before = folder_content(folder)
    assert_explained(
        flown.run("store", "backup", "--out", folder / "b.sqlite3"), 3, "there already"
    )
    assert folder_content(folder) == before


def test_the_history_of_a_point_names_command_and_decision(flown: Program) -> None:
    flown.output("points", "reject", 5, "--reason", "static line found loose")
    lines = flown.json("show", "history", "--point", 5)["lines"]
    assert [(line["command"], line["act"]) for line in lines] == [
        ("points import", "added"),
        ("points reject", "changed"),
    ]
    assert "static line found loose" in lines[1]["values"]
    assert {line["airframe"] for line in lines} == {"C-01"}
    assert_explained(flown.run("show", "history", "--airframe", "C-99"), 35, "C-99")


@pytest.mark.long
def test_the_last_import_is_taken_back_and_can_be_done_again(
    program: Program, flown: Program, folder: Path
) -> None:
    points = folder / "points.csv"
    flown.output("points", "list", "--out", points)
    count = len(flown.json("points", "list")["points"])
    told = flown.output("undo")
    assert "taken back" in told
    assert flown.json("points", "list")["points"] == []
    assert flown.json("store", "check")["faults"] == []
    assert f"{count} points" in flown.output("points", "import", points)


def test_a_change_that_a_decision_rests_on_stays(flown: Program, folder: Path) -> None:
    flown.output("points", "reject", 5, "--reason", "loose")
    imported = flown.json("show", "history", "--point", 5)["lines"][0]["change"]
    before = folder_content(folder)
    assert_explained(flown.run("undo", imported), 3, f"change {imported}")
    assert folder_content(folder) == before
    assert_explained(flown.run("undo", 99), 35, "no such change")
