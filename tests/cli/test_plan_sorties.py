"""How a plan weighs one sortie against several of the same runs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at

FLEET = (Group(WING, 6, 0.04, -0.12),)
LIMITS = "stall_speed_clean_kt = 46.0\nmanoeuvring_speed_kt = 95.0\nnever_exceed_kt = 141.0\n"
U_KAPPA, U_SHARED = 7, 8


def fleet_that_shares(folder: Path, shared: float) -> Program:
    """A program on a fleet whose sorties share so much of each point's variance; C-01 flew slow."""
    described = fleet_toml(FLEET).replace("scaling_speed_kt", f"{LIMITS}scaling_speed_kt", 1)
    (folder / "fleet.toml").write_text(described, encoding="utf-8")
    head, *lines = points_csv(FLEET).splitlines()
    rows = [line.split(",") for line in lines]
    rows = [row for row in rows if row[0] != "C-01" or float(row[4]) < 85.0]
    for row in rows:
        row[U_SHARED] = f"{float(row[U_KAPPA]) * shared**0.5:.6f}"
    text = "\n".join([head, *(",".join(row) for row in rows)]) + "\n"
    (folder / "points.csv").write_text(text, encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.mark.parametrize(("shared", "sorties"), [(0.02, 1), (0.9, 2)])
def test_two_sorties_are_proposed_where_the_runs_of_one_err_together(
    shared: float, sorties: int, tmp_path: Path
) -> None:
    program = fleet_that_shares(tmp_path, shared)
    plan = program.json("plan", "C-01", "--points", "4")
    left = [way["largest_after_kt"] for way in plan["weighed"]]
    assert [way["runs"] for way in plan["weighed"]] == [[4], [2, 2]]
    assert left[0] > left[1]
    assert [way["proposed"] for way in plan["weighed"]] == [sorties == 1, sorties == 2]
    assert plan["sorties"] == sorties
    assert plan["largest_after_kt"] == left[sorties - 1]
    assert {run["sortie"] for run in plan["runs"]} == set(range(1, sorties + 1))
    assert sum(run["repeats"] for run in plan["runs"]) == 4


@pytest.mark.long
def test_the_user_chooses_otherwise_and_each_sortie_has_its_speeds(tmp_path: Path) -> None:
    program = fleet_that_shares(tmp_path, 0.7)
    assert program.json("plan", "C-01", "--points", "4", "--sorties", "1")["sorties"] == 1
    card = tmp_path / "card.txt"
    said = program.output("plan", "C-01", "--points", "6", "--sorties", "3", "--out", card)
    head = said.splitlines()
    assert head[0].startswith("Fly 6 runs in three sorties")
    for number in (1, 2, 3):
        (line,) = [row for row in head[1:6] if row.startswith(f"Sortie {number}: ")]
        parts = [part.split(" x ") for part in line.split(": ")[1].replace(" kt", "").split(", ")]
        speeds = [float(part[-1]) for part in parts]
        assert sum(int(part[0]) if len(part) > 1 else 1 for part in parts) == 2
        assert speeds == sorted(speeds, reverse=True)
    assert "2 + 2 + 2 runs in three sorties  <- this plan" in said
    # the card is of the sortie that is flown first: the others are planned again
    assert card.read_text(encoding="utf-8").count("RUN ") == 2


@pytest.mark.long
def test_sorties_that_cannot_be_are_explained(tmp_path: Path) -> None:
    program = fleet_that_shares(tmp_path, 0.5)
    few = program.run("plan", "C-01", "--points", "2", "--sorties", "3")
    assert_explained(few, 36, "2 runs cannot be split over 3 sorties")
    both = program.run("plan", "C-01", "--question", "standing", "--sorties", "2")
    assert_explained(both, 36, "--sorties")
    assert program.json("plan", "C-01", "--question", "standing")["sorties"] == 1
