"""A wind that changed over a flight is told wherever its result is shown."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program
from tests.cli.invented_sortie import Card, fly, log_text
from tests.store_places import change

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")

WHO = ("--airframe", "C-01", "--weight-kg", "580")


def veered(kt_in_ten_minutes: float) -> str:
    """A flight of three runs whose wind grows steadily towards the east."""
    flown = fly(Card())
    track = np.radians(flown.track_deg)
    east = flown.ground_speed_kt * np.sin(track)
    east = east + kt_in_ten_minutes * np.arange(len(track)) / 600.0
    north = flown.ground_speed_kt * np.cos(track)
    return log_text(
        replace(
            flown,
            ground_speed_kt=np.hypot(east, north),
            track_deg=np.degrees(np.arctan2(east, north)) % 360.0,
        )
    )


def log_in(folder: Path, kt_in_ten_minutes: float) -> Path:
    path = folder / "flight.csv"
    path.write_text(veered(kt_in_ten_minutes), encoding="utf-8")
    return path


@pytest.mark.long
def test_it_is_printed_and_in_the_json(program: Program, folder: Path) -> None:
    log = log_in(folder, 6.0)
    printed = program.run("reduce", log, "--preview").stderr
    assert "Warning: the wind changed steadily by 6.0 kt in ten minutes" in printed
    (said,) = program.json("reduce", log, "--preview")["wind"]
    assert said.endswith("what stays open is in their uncertainty")
    assert program.json("reduce", log_in(folder, 0.3), "--preview")["wind"] == []


def by_air(run: dict[str, Any]) -> float:
    """What wind and gusts leave of kappa."""
    return float(np.sqrt(sum(t["u_kappa"] ** 2 for t in run["terms"] if t["kind"] == "A")))


def test_every_run_is_less_sure_for_it_and_hardly_another(program: Program, folder: Path) -> None:
    runs = {
        rate: program.json("reduce", log_in(folder, rate), "--preview")["runs"]
        for rate in (0.0, 6.0)
    }
    for still, drifting in zip(runs[0.0], runs[6.0], strict=True):
        assert drifting["accepted"]
        assert by_air(drifting) > 1.05 * by_air(still)
        # by each run in a wind supposed steady it moved by more than 0.2 kt
        moved = abs(drifting["dvpc_kt"] - still["dvpc_kt"])
        assert moved < 0.1


@pytest.mark.long
def test_it_is_kept_with_the_sortie_and_on_its_page(program: Program, folder: Path) -> None:
    program.output("reduce", log_in(folder, 6.0), *WHO)
    program.output("publish", "--site", "--out", folder / "site")
    page = (folder / "site" / "sorties" / "1.html").read_text(encoding="utf-8")
    assert "The wind changed steadily by 6.0 kt in ten minutes" in page


@pytest.mark.long
def test_its_points_follow_from_the_means_of_their_legs_and_not_from_those_of_another_run(
    program: Program, folder: Path
) -> None:
    program.output("reduce", log_in(folder, 10.0), *WHO)
    assert program.json("store", "check")["faults"] == []
    for number, other in ((1, 9), (2, 1), (9, 2)):  # runs 1 and 2 change their numbers
        change(
            program.store,
            "UPDATE calibration_point SET number = ? WHERE number = ?",
            (other, number),
        )
    done = program.run("store", "check")
    assert done.exit_code == 4
    assert "its number is that of run 2, and its legs are those of run 1" in done.stdout
    assert "its number is that of run 1, and its legs are those of run 2" in done.stdout
