"""Legs written down by hand go the same way as a recorded flight."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_sortie import FT, KT, impact_pa, pressure_pa

HEADINGS = (
    "IAS (kt),pressure altitude (ft),static air temperature (degC),ground speed (kt),track (deg)"
)
WHO = ("--airframe", "C-01", "--weight-kg", "600", "--date", "2024-01-02")

# Ground speed and track, rounded to whole knots and degrees, at 118 kt of true airspeed on
# headings 20, 140 and 260 in a wind of 17 kt from 215. What they must give is worked out
# below from the circle through the three tips, by other means than the program's.
THREE_LEGS = ((134.0, 22.0), (115.0, 132.0), (107.0, 266.0))


def circle(legs: tuple[tuple[float, float], ...]) -> tuple[float, float, float]:
    """True airspeed, wind speed and where the wind comes from, by three perpendicular bisectors."""
    tips = [(gs * np.sin(np.radians(t)), gs * np.cos(np.radians(t))) for gs, t in legs]
    (x1, y1), (x2, y2), (x3, y3) = tips
    matrix = 2.0 * np.array([[x2 - x1, y2 - y1], [x3 - x1, y3 - y1]])
    right = np.array([x2**2 + y2**2 - x1**2 - y1**2, x3**2 + y3**2 - x1**2 - y1**2])
    east, north = np.linalg.solve(matrix, right)
    radius = float(np.hypot(x1 - east, y1 - north))
    return radius, float(np.hypot(east, north)), float(np.degrees(np.arctan2(-east, -north)) % 360)


def indicated_kt(tas_kt: float, altitude_ft: float, ambient_k: float) -> float:
    """Airspeed that an indicator without any error shows at a true airspeed."""
    mach = tas_kt * KT / np.sqrt(1.4 * 287.05287 * ambient_k)
    excess = pressure_pa(np.asarray(altitude_ft * FT)) * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0)
    speeds = np.linspace(20.0, 200.0, 200_001)
    return float(np.interp(excess, impact_pa(speeds * KT), speeds))


def sheet(ias_kt: float, *, headings: str = HEADINGS, first: str = "", count: int = 3) -> str:
    ambient = 288.15 - 0.0065 * 5000.0 * FT
    rows = [
        f"{first}{ias_kt:.2f},5000,{ambient - 273.15:.2f},{gs:.0f},{track:.0f}"
        for gs, track in THREE_LEGS[:count]
    ]
    return "\n".join([headings, *rows]) + "\n"


@pytest.fixture
def exact_kt() -> float:
    return indicated_kt(circle(THREE_LEGS)[0], 5000.0, 288.15 - 0.0065 * 5000.0 * FT)


def test_the_three_legs_everybody_can_check_by_hand(
    program: Program, folder: Path, exact_kt: float
) -> None:
    (folder / "legs.csv").write_text(sheet(exact_kt))
    dry = ("--humidity-pct", "0")  # as by hand
    done = program.json("reduce", folder / "legs.csv", *WHO, *dry)
    (run,) = done["runs"]
    tas, wind, wind_from = circle(THREE_LEGS)
    assert run["tas_kt"] == pytest.approx(tas, abs=1e-6)
    assert run["wind_speed_kt"] == pytest.approx(wind, abs=1e-6)
    assert run["wind_from_deg"] == pytest.approx(wind_from, abs=1e-6)
    assert round(run["tas_kt"]) == 118
    assert run["wind_speed_kt"] == pytest.approx(17.0, abs=1.0)
    assert 213.0 <= run["wind_from_deg"] <= 217.0
    # Readings without error leave no static-pressure error over.
    assert run["kappa"] == pytest.approx(0.0, abs=1e-3)
    assert run["leg_count"] == 3
    assert run["u_kappa"] > 0.005, "three legs read by eye cannot be that sure"


def test_a_sheet_is_stored_with_its_legs_and_found_again(
    program: Program, folder: Path, exact_kt: float
) -> None:
    (folder / "legs.csv").write_text(sheet(exact_kt))
    program.output("reduce", folder / "legs.csv", *WHO)
    (point,) = program.json("points", "list")["points"]
    assert point["flown_on"] == "2024-01-02"
    again = program.json("reduce", folder / "legs.csv", *WHO)
    assert again["known_already"] is True
    assert len(program.json("points", "list")["points"]) == 1


def test_a_sheet_without_a_date_needs_one(program: Program, folder: Path, exact_kt: float) -> None:
    (folder / "legs.csv").write_text(sheet(exact_kt))
    before = folder_content(folder)
    result = program.run("reduce", folder / "legs.csv", *WHO[:4])
    assert_explained(result, 3, "legs.csv", "no date")
    assert "--date" in result.stderr.splitlines()[1]
    assert folder_content(folder) == before


def test_runs_and_flap_settings_may_be_written_in_the_sheet(
    program: Program, folder: Path, exact_kt: float
) -> None:
    headings = f"run,flap setting,{HEADINGS}"
    text = sheet(exact_kt, headings=headings, first="first,20,")
    text += "\n".join(sheet(exact_kt - 1.0, headings=headings, first="second,20,").split("\n")[1:])
    (folder / "legs.csv").write_text(text)
    done = program.json("reduce", folder / "legs.csv", *WHO)
    assert len(done["runs"]) == 2
    assert done["flap_setting"] == "20"
    assert {p["flap_setting"] for p in program.json("points", "list")["points"]} == {"20"}


def test_a_sheet_that_mixes_flap_settings_is_refused(
    program: Program, folder: Path, exact_kt: float
) -> None:
    headings = f"flap setting,{HEADINGS}"
    text = sheet(exact_kt, headings=headings, first="up,")
    text += "\n".join(sheet(exact_kt, headings=headings, first="20,").split("\n")[1:])
    (folder / "legs.csv").write_text(text)
    before = folder_content(folder)
    assert_explained(program.run("reduce", folder / "legs.csv", *WHO), 3, "20", "up")
    assert folder_content(folder) == before


@pytest.mark.parametrize(
    ("old", "new", "exit_code", "named"),
    [
        (",115,", ",11b,", 34, "line 3"),
        (",115,", ",,", 34, "line 3"),
        (",115,", ",1150,", 34, "line 3"),
        (",132", ",190", 37, "the largest gap"),
        ("track (deg)", "heading (deg)", 33, "track"),
        ("134,22\n", "", 34, "line 2"),
    ],
)
def test_a_sheet_that_cannot_be_solved_says_where(
    old: str, new: str, exit_code: int, named: str, program: Program, folder: Path, exact_kt: float
) -> None:
    text = sheet(exact_kt)
    assert old in text
    if exit_code == 37:
        text = text.replace(",22\n", ",240\n")
    (folder / "legs.csv").write_text(text.replace(old, new))
    before = folder_content(folder)
    assert_explained(program.run("reduce", folder / "legs.csv", *WHO), exit_code, named)
    assert folder_content(folder) == before


def test_two_legs_are_too_few(program: Program, folder: Path, exact_kt: float) -> None:
    (folder / "legs.csv").write_text(sheet(exact_kt, count=2))
    assert_explained(program.run("reduce", folder / "legs.csv", *WHO), 37, "only 2 legs")
