"""Older results that come as speed corrections: the same by column and by row, limits named."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content

HEADINGS = (
    "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt,"
    "u_shared_kappa,u_airframe_kappa,barred\n"
)
GOOD = ("C-01,2019-07-01,600,100,3000,2.0,0.5,,,\n", "C-01,2019-07-01,600,70,3000,-1.5,0.5,,,\n")


def test_a_barred_row_among_them_changes_nothing_in_the_others(
    program: Program, folder: Path
) -> None:
    """A block with a barred row is read row by row, one without by column."""
    barred = "C-02,2019-07-08,600,80,3000,1.0,0.5,,,leak check failed\n"
    later = [row.replace("2019-07-01", "2019-07-08") for row in GOOD]
    (folder / "old.csv").write_text(HEADINGS + "".join(GOOD))
    (folder / "later.csv").write_text(HEADINGS + later[0] + barred + later[1])
    for name in ("old.csv", "later.csv"):
        program.output("points", "import", folder / name)
    points = program.json("points", "list")["points"]
    (refused,) = [p for p in points if not p["accepted"]]
    assert refused["reason"] == "barred where it came from: leak check failed"
    first, again = (
        [p for p in points if p["airframe"] == "C-01" and p["flown_on"] == day]
        for day in ("2019-07-01", "2019-07-08")
    )
    assert [p["vic_kt"] for p in first] == [100.0, 70.0]
    for one, other in zip(first, again, strict=True):
        for name in ("vic_kt", "kappa", "u_kappa", "dvpc_kt", "u_dvpc_kt", "dhpc_ft", "u_dhpc_ft"):
            assert one[name] == pytest.approx(other[name], rel=1e-9), name


@pytest.mark.parametrize(
    ("row", "named"),
    [
        (
            "C-01,2019-07-01,600,80,3000,50,0.5,,,\n",
            "line 3, column dvpc_kt: a correction of 50 kt at 80 kt is more than a port can do",
        ),
        ("C-01,2019-07-01,600,80,3000,,,,,\n", "line 3, column dvpc_kt: the cell is empty"),
        ("C-01,2019-07-01,600,80,3000,2,,,,\n", "line 3, column u_dvpc_kt: the cell is empty"),
        (
            "C-01,2019-07-01,600,100,3000,2.0,0.5,0.008,0.008,\n",
            "line 3, column u_kappa: the parts u_shared_kappa and u_airframe_kappa",
        ),
    ],
)
def test_a_correction_that_cannot_be_is_named_and_nothing_is_stored(
    row: str, named: str, program: Program, folder: Path
) -> None:
    (folder / "old.csv").write_text(HEADINGS + GOOD[0] + row)
    before = folder_content(folder)
    result = program.run("points", "import", folder / "old.csv")
    assert_explained(result, 34, f"old.csv, {named}")
    assert folder_content(folder) == before
