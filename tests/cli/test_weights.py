"""A weight that no aircraft of the type has is refused, whichever way it comes in."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import leg_sheet

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

POUNDS = "1279 kg on a 600 kg type"
ASKED = "are these pounds? 1279 lb is 580 kg"
C_01 = ("--airframe", "C-01")
DAY = ("--date", "2024-05-02")


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(rough_log)
    return path


def points_file(folder: Path, weight: float, technique: str = "gps legs") -> Path:
    path = folder / "points.csv"
    path.write_text(
        "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,technique\n"
        f"C-01,2024-05-02,580,90,3000,0.02,0.01,{technique}\n"
        f"C-01,2024-05-02,{weight},95,3000,0.02,0.01,{technique}\n"
    )
    return path


def refused(program: Program, folder: Path, *words: object) -> None:
    before = folder_content(folder)
    result = program.run(*words)
    assert_explained(result, 36, POUNDS, ASKED)
    assert "from 300 to 720 kg" in result.stderr
    assert folder_content(folder) == before


@pytest.mark.parametrize("option", ["--weight-kg", "--takeoff-weight-kg"])
@pytest.mark.parametrize(
    "command",
    [
        ("reduce",),
        ("reduce", "--quantity", "climb", "--power-state", "full power", "--thrust-kw", "40"),
    ],
)
def test_pounds_given_with_a_log_are_refused_with_the_question(
    command: tuple[str, ...], option: str, program: Program, folder: Path, log: Path
) -> None:
    more = ("--fuel-used-kg-per-h", "14") if option == "--takeoff-weight-kg" else ()
    refused(program, folder, *command, log, *C_01, option, 1279, *more)


def test_pounds_given_with_a_leg_sheet_are_refused_with_the_question(
    program: Program, folder: Path
) -> None:
    (folder / "legs.csv").write_text(leg_sheet())
    refused(program, folder, "reduce", folder / "legs.csv", *C_01, *DAY, "--weight-kg", 1279)


def test_pounds_given_with_another_technique_are_refused_with_the_question(
    program: Program, folder: Path
) -> None:
    course = folder / "course.csv"
    course.write_text(
        "ias_kt,pressure_altitude_ft,oat_degc,distance_m,time_out_s,time_back_s\n"
        "100,1500,14,3704,64.8,78.6\n"
    )
    words = ("measure", "speed-course", course, *C_01, *DAY, "--weight-kg")
    refused(program, folder, *words, 1279)
    program.output(*words, 580)


def test_pounds_in_a_points_file_are_refused_with_their_line(
    program: Program, folder: Path
) -> None:
    path = points_file(folder, 1279)
    refused(program, folder, "points", "import", path)
    assert "points.csv, line 3, column weight_kg" in program.run("points", "import", path).stderr


def test_a_turning_point_may_weigh_what_its_load_factor_makes_of_it(
    program: Program, folder: Path
) -> None:
    assert_explained(program.run("points", "import", points_file(folder, 820)), 36, "820 kg on")
    program.output("points", "import", points_file(folder, 820, "gps manoeuvre"))


@pytest.mark.parametrize(("weight", "words"), [
    (263, "were kilograms divided by 2.2? 263 kg is 580 lb"),
    (58, "no aircraft of that type weighs so little"),
    (5800, "no aircraft of that type weighs so much"),
])  # fmt: skip
def test_what_pounds_do_not_explain_is_refused_too(
    weight: float, words: str, program: Program, folder: Path
) -> None:
    assert_explained(program.run("points", "import", points_file(folder, weight)), 36, words)


@pytest.mark.parametrize("weight", [300, 720])
def test_the_lightest_and_the_heaviest_that_can_be_meant_are_taken(
    weight: float, program: Program, folder: Path
) -> None:
    program.output("points", "import", points_file(folder, weight))


def test_a_curve_or_a_handbook_at_pounds_is_refused(flown: Program, folder: Path) -> None:
    (folder / "table.csv").write_text("ias_kt,cas_kt\n50,52\n100,99\n")
    for words in (
        ("curve", "tail-boom flush pair", "--weight-kg", 1279),
        ("handbook", "enter", folder / "table.csv", "--name", "first", "--static-source",
         "tail-boom flush pair", "--weight-kg", 1279),
    ):  # fmt: skip
        refused(flown, folder, *words)
