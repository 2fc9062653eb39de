"""Wrong units in sheets of legs are caught by the other speeds or the handbook, or doubted."""

from __future__ import annotations

import pytest

from tests.flightlog.wrong_columns import NOT_ACCEPTED, REFUSED, SILENT, WARNED
from tests.flightlog.wrong_sheets import CASES, batch

SPEEDS = [name for name in CASES if "airspeed" in name or "ground speed" in name]
SHEETS = 8  # of each kind; of 100 (seeds 3000 on) at least 98 went the way that is held here


@pytest.mark.long
@pytest.mark.parametrize("name", SPEEDS)
def test_speeds_in_a_wrong_unit_are_hardly_ever_accepted_at_three_airspeeds(name: str) -> None:
    found = batch(CASES[name], 3, SHEETS, 5000)
    assert found[REFUSED] + found[NOT_ACCEPTED] >= SHEETS - 1, found


@pytest.mark.parametrize("name", SPEEDS)
def test_at_one_airspeed_they_are_at_least_doubted(name: str) -> None:
    assert batch(CASES[name], 1, SHEETS, 5000)[SILENT] == 0


@pytest.mark.parametrize("name", SPEEDS)
def test_at_one_airspeed_a_handbook_refutes_them(name: str) -> None:
    found = batch(CASES[name], 1, SHEETS, 5000, with_handbook=True)
    assert found[REFUSED] + found[NOT_ACCEPTED] >= SHEETS - 2, found


@pytest.mark.long
@pytest.mark.parametrize("runs", [1, 3])
def test_a_right_sheet_is_accepted_and_one_of_a_large_error_doubted(runs: int) -> None:
    assert batch(CASES["right"], runs, SHEETS, 5000)[SILENT] == SHEETS
    found = batch(CASES["right, port far off when slow"], runs, SHEETS, 5000)
    assert found[SILENT] + found[WARNED] == SHEETS, found
