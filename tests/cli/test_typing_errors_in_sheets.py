"""Runs of one sheet check each other: what is typed wrong on one leg makes its wind jump.

The flight is invented: C-01 on five runs of three legs each, headings 340, 100 and 220, in a wind
that goes over from 14 kt from 260 to 16 kt from 266; readings rounded to whole knots and degrees.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_sortie import FT, KT, impact_pa, pressure_pa

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")

HEADINGS = "run,IAS (kt),pressure altitude (ft),OAT (degC),ground speed (kt),track (deg)\n"
WHO = ("--airframe", "C-01", "--weight-kg", "600", "--date", "2024-01-02")
ALTITUDE_FT, AMBIENT_K = 4000.0, 281.0
SPEEDS_KT = (112, 103, 94, 85, 76)
TRACKS = (340.0, 100.0, 220.0)


def true_airspeed_kt(ias_kt: float) -> float:
    """Of an indicator and a port without error."""
    pressure = pressure_pa(np.asarray(ALTITUDE_FT * FT))
    ratio = impact_pa(np.asarray(ias_kt * KT)) / pressure + 1.0
    mach = np.sqrt(5.0 * (ratio ** (2.0 / 7.0) - 1.0))
    return float(mach * np.sqrt(1.4 * 287.05287 * AMBIENT_K)) / KT


def rows() -> list[list[str]]:
    found = []
    for run, ias in enumerate(SPEEDS_KT):
        wind_kt, wind_from = 14.0 + 0.5 * run, np.radians(260.0 + 1.5 * run)
        for heading in np.radians(TRACKS):
            east = true_airspeed_kt(ias) * np.sin(heading) - wind_kt * np.sin(wind_from)
            north = true_airspeed_kt(ias) * np.cos(heading) - wind_kt * np.cos(wind_from)
            speed, track = np.hypot(east, north), np.degrees(np.arctan2(east, north)) % 360.0
            cells = (run + 1, ias, ALTITUDE_FT, AMBIENT_K - 273.15, round(speed), round(track))
            found.append([f"{cell:g}" for cell in cells])
    return found


def sheet(changed: list[list[str]]) -> str:
    return HEADINGS + "".join(",".join(cells) + "\n" for cells in changed)


def test_a_sound_sheet_has_every_run_accepted(program: Program, folder: Path) -> None:
    (folder / "legs.csv").write_text(sheet(rows()))
    done = program.json("reduce", folder / "legs.csv", *WHO)
    assert [run["accepted"] for run in done["runs"]] == [True] * 5
    assert done["wind"] == []


@pytest.mark.long
def test_runs_with_a_typing_error_are_named_and_not_accepted(
    program: Program, folder: Path
) -> None:
    typed = rows()
    # the last figure of a track of three was left out, and another track lost its first
    assert len(typed[6][5]) == 3
    typed[6][5] = typed[6][5][:2]  # run 3
    typed[13][4] = str(int(typed[13][4]) + 30)  # run 5, ground speed: 1 read as 4
    (folder / "legs.csv").write_text(sheet(typed))
    done = program.json("reduce", folder / "legs.csv", *WHO)
    assert [run["accepted"] for run in done["runs"]] == [True, True, False, True, False]
    for number in (3, 5):
        reason = done["runs"][number - 1]["reason"]
        assert f"the wind of run {number} jumps" in reason
        assert "look for a typing error in its legs" in reason
        assert reason in done["wind"]
    # the others are as sure as on the sound sheet: what is wrong widens none of them
    (folder / "sound.csv").write_text(sheet(rows()))
    sound = program.json("reduce", folder / "sound.csv", *WHO, "--preview")
    for number in (1, 2, 4):
        found, right = done["runs"][number - 1], sound["runs"][number - 1]
        assert found["u_kappa"] == pytest.approx(right["u_kappa"], rel=0.15)
    assert "typing error" in program.output("reduce", folder / "legs.csv", "--preview")


@pytest.mark.parametrize("track", ["439", "361", "-12"])
def test_a_track_outside_the_compass_is_refused_with_its_place(
    track: str, program: Program, folder: Path
) -> None:
    typed = rows()
    typed[4][5] = track
    (folder / "legs.csv").write_text(sheet(typed))
    before = sorted(folder.iterdir())
    result = program.run("reduce", folder / "legs.csv", *WHO)
    assert_explained(result, 34, "line 6, column 'track (deg)'")
    assert "from 0 to 360" in result.output
    assert sorted(folder.iterdir()) == before
