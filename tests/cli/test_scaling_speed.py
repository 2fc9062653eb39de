"""The scaling speed of a type only scales lift: it may be supposed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL
from tests.store_places import change, copy_store


def rows(program: Program) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = program.json("curve", TAIL)["rows"]
    return [row for row in found if row["correction_kt"] is not None]


@pytest.mark.long
@pytest.mark.parametrize("scaling_kt", [38.0, 60.0])
def test_a_curve_stays_the_same_with_another_scaling_speed(
    few_file: str, tmp_path: Path, scaling_kt: float
) -> None:
    place = copy_store(few_file, tmp_path / "other.sqlite3")
    change(place, f"UPDATE aircraft_type SET scaling_speed_kt = {scaling_kt}")
    before, after = rows(Program(few_file)), rows(Program(place))
    assert len(before) == len(after) > 5
    for row, other in zip(before, after, strict=True):
        assert other["correction_kt"] == pytest.approx(row["correction_kt"], abs=0.01)
        # The nodes of the spreads lie at twice the scaling speed, so that widths differ a little.
        for band in ("mean", "next"):
            width, otherwise = (
                one[f"{band}_high_kt"] - one[f"{band}_low_kt"] for one in (row, other)
            )
            assert otherwise == pytest.approx(width, rel=0.2)
