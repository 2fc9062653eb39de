"""The leg sheet in the manual is solved to the invented flight that it was written from."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.documents import TOPICS
from tests.cli.hand_legs import leg_sheet

pytestmark = pytest.mark.any_store("opens no store")


def test_the_text_shows_the_legs_that_are_tested_here() -> None:
    assert f"```csv\n{leg_sheet()}```" in TOPICS["leg-sheets"]


def test_the_legs_of_the_manual_give_the_wind_and_the_error_they_were_made_with(
    program: Program, folder: Path
) -> None:
    (folder / "legs.csv").write_text(leg_sheet())
    (run,) = program.json("reduce", folder / "legs.csv", "--preview")["runs"]
    # whole knots and degrees: 0.29 kt and 0.29 degrees rms a reading, so half a knot of the means
    assert run["leg_count"] == 4
    assert run["tas_kt"] == pytest.approx(102.5, abs=0.5)
    assert run["wind_speed_kt"] == pytest.approx(13.0, abs=0.8)
    assert run["wind_from_deg"] == pytest.approx(285.0, abs=3.0)
    assert run["dvpc_kt"] == pytest.approx(-1.7, abs=0.6)
    assert run["accepted"]
