"""A trailing source read by an altimeter: kappa from the two altitudes and the airspeed alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program
from tests.cli.invented_sortie import FT, KT, impact_pa, pressure_pa

#: IAS and altimeter of the cockpit, altimeter on the trailing source.
READ = ((100.0, 3000.0, 3040.0), (70.0, 3000.0, 2985.0))


def kappa(ias_kt: float, cockpit_ft: float, trailing_ft: float) -> float:
    shown, true = (float(pressure_pa(np.array(h * FT))) for h in (cockpit_ft, trailing_ft))
    return (shown - true) / float(impact_pa(np.array(ias_kt * KT)))


@pytest.mark.parametrize("correction_ft", [None, 0.0, 25.0])
def test_the_correction_is_added_to_its_reading_and_is_none_where_none_stands(
    correction_ft: float | None, program: Program, folder: Path
) -> None:
    more = ("", "") if correction_ft is None else (",trailing_correction_ft", f",{correction_ft}")
    lines = [f"{ias},{own},8,{other}{more[1]}" for ias, own, other in READ]
    heading = f"ias_kt,pressure_altitude_ft,oat_degc,trailing_pressure_altitude_ft{more[0]}"
    (folder / "a.csv").write_text("\n".join([heading, *lines]) + "\n", encoding="utf-8")
    flight = ("--airframe", "C-02", "--date", "2024-05-02", "--weight-kg", 580)
    done = program.json("measure", "trailing-static", folder / "a.csv", *flight)
    for (ias, own, other), point in zip(READ, done["points"], strict=True):
        expected = kappa(ias, own, other + (correction_ft or 0.0))
        assert point["kappa"] == pytest.approx(expected, abs=1e-6)
        assert {t["name"] for t in point["terms"]} >= {"trailing source", "altimeter"}
