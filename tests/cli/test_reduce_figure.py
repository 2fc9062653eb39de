"""The figure of a reduction, as the command draws it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import leg_sheet

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")

WHO = ("--airframe", "C-01", "--weight-kg", "580")


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(rough_log)
    return path


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "begin", "what"),
    [
        ("a.svg", b"<?xml", "Figure"),
        ("a.png", b"\x89PNG", "Figure"),
        ("B.PDF", b"%PDF", "Report"),
        ("c.html", b"<!DOCTYPE html>", "Report"),
    ],
)
def test_the_ending_tells_figure_or_report(
    name: str, begin: bytes, what: str, program: Program, log: Path, folder: Path
) -> None:
    text = program.output("reduce", log, "--out", folder / name)
    assert f"{what} written to" in " ".join(text.split())
    assert str(folder / name) in text.replace("\n  ", " ")
    assert (folder / name).read_bytes().startswith(begin)


@pytest.mark.long
def test_the_figure_shows_what_the_table_says(program: Program, log: Path, folder: Path) -> None:
    done = program.json("reduce", log, *WHO, "--out", folder / "a.svg", "--drop", "3:2")
    assert done["figure"] == str(folder / "a.svg")
    svg = (folder / "a.svg").read_text()
    for run in done["runs"]:
        assert f"run {run['run']}: {run['vic_kt']:.1f} kt indicated" in svg
        assert f"wind {run['wind_speed_kt']:.1f} kt from {run['wind_from_deg']:03.0f}°" in svg
        assert f"U95 {run['U95_dvpc_kt']:.2f} kt" in svg
    assert "by hand: leg 2 of run 3 left out" in svg
    assert "Crossed: left out by hand." in svg
    assert "C-01, 2024-05-02, flight.csv" in svg
    assert "580 kg" in svg
    assert "three legs leave no residual" in svg


@pytest.mark.long
def test_manoeuvres_and_sheets_are_drawn_too(program: Program, log: Path, folder: Path) -> None:
    program.output(
        "reduce", log, "--preview", "--solve-by", "manoeuvres", "--out", folder / "m.svg"
    )
    assert "sample by sample" in (folder / "m.svg").read_text()
    (folder / "sheet.csv").write_text(leg_sheet())
    program.output("reduce", folder / "sheet.csv", "--preview", "--out", folder / "s.svg")
    assert "time from the first sample" not in (folder / "s.svg").read_text()


@pytest.mark.long
def test_a_figure_that_cannot_be_written_keeps_the_store_as_it_was(
    program: Program, log: Path, folder: Path
) -> None:
    (folder / "taken.svg").mkdir()
    before = folder_content(folder)
    result = program.run("reduce", log, *WHO, "--out", folder / "taken.svg")
    assert_explained(result, 3, "cannot write", "taken.svg")
    assert folder_content(folder) == before


@pytest.mark.long
def test_of_what_is_stored_already_no_figure_is_drawn_and_that_is_said(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    result = program.run("reduce", log, *WHO, "--out", folder / "a.svg")
    assert result.exit_code == 0
    assert "no figure is drawn" in result.stderr
    assert not (folder / "a.svg").exists()
