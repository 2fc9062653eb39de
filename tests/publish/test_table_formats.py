"""Every format says the same: the lines of the table, whichever way and in whichever unit."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import date

import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.published_files import table_contents
from fleetcal.publish.table_csv import table_csv
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_lines import table_lines
from fleetcal.publish.table_markdown import table_markdown
from fleetcal.publish.table_row import ReadingRow
from tests.publish.invented_table import invented_readings, invented_table

REVERSED = TableForm("cas-to-ias")
MARK = IssueMark(
    number=3, issued_on=date(2024, 5, 1), inputs_sha256="f" * 64, why="two more airframes"
)
WITHDRAWN = IssueMark(
    number=3,
    issued_on=date(2024, 5, 1),
    inputs_sha256="f" * 64,
    why="",
    withdrawn="a sortie was wrong",
    withdrawn_on=date(2024, 6, 2),
)


def reversed_table(**changes: object) -> PooledTable:
    return invented_table(form=REVERSED, readings=invented_readings(), **changes)


def grid_of(markdown: str) -> list[list[str]]:
    lines = [line for line in markdown.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def test_markdown_holds_the_lines_of_the_csv() -> None:
    table = invented_table()
    grid = grid_of(table_markdown(table))
    read = list(csv.DictReader(io.StringIO(table_csv(table), newline="")))
    assert len(grid) == len(read) + 2
    for cells, row in zip(grid[2:], read, strict=True):
        assert float(cells[0]) == float(row["ias_kt"])
        if not row["cas_kt"]:
            assert cells[1] == row["note"]
            continue
        assert float(cells[1].replace("−", "-")) == float(row["correction_kt"])
        assert cells[2] == row["cas_kt"]
        ends = [float(end.replace("−", "-")) for end in cells[4].split(" to ")]
        assert ends == [float(row["next_low_kt"]), float(row["next_high_kt"])]


def test_json_holds_the_lines_of_the_csv_and_the_cautions() -> None:
    table = invented_table()
    found = json.loads(table_json(table))
    read = list(csv.DictReader(io.StringIO(table_csv(table), newline="")))
    assert (found["kind"], found["format_version"]) == ("correction_table", 1)
    assert set(CAUTIONS) <= set(found["caution"])
    for row, cells in zip(found["rows"], read, strict=True):
        for name, value in row.items():
            if value is None or isinstance(value, str):
                assert cells[name] == (value or "")
            else:
                places = 0 if name in ("altitude_correction_ft", "airframes") else 1
                assert abs(value - float(cells[name])) <= 0.5 * 10.0**-places + 1e-6


def test_a_table_from_cas_looks_up_cas_and_gives_bands_of_ias() -> None:
    table = reversed_table()
    lines = table_lines(table)
    assert [line.given for line in lines] == [60.0, 65.0, 70.0, 75.0]
    assert [line.answer for line in lines] == [None, 62.5, 67.5, 72.5]
    read = list(csv.DictReader(io.StringIO(table_csv(table), newline="")))
    assert read[1]["cas_kt"] == "65.0"
    assert read[1]["ias_next_low_kt"] == "61.0"
    assert read[0]["note"] == "flown by nobody"
    assert "IAS = CAS − correction" in table_markdown(table)


@pytest.mark.parametrize(
    ("unit", "name", "factor"), [("mph", "mph", 1.1507794480235425), ("km/h", "kmh", 1.852)]
)
def test_another_unit_is_the_knot_times_its_definition(unit: str, name: str, factor: float) -> None:
    # A knot is 1852 m an hour, a mile 1609.344 m (both by definition).
    here, knots = (
        list(csv.DictReader(io.StringIO(table_csv(table), newline="")))
        for table in (invented_table(form=TableForm(speed_unit=unit)), invented_table())
    )
    for row, known in zip(here, knots, strict=True):
        assert float(row[f"ias_{name}"]) == pytest.approx(
            factor * float(known["ias_kt"]), abs=0.051
        )
        assert row["altitude_correction_ft"] == known["altitude_correction_ft"]
        if known["correction_kt"]:
            wanted = factor * float(known["correction_kt"])
            assert float(row[f"correction_{name}"]) == pytest.approx(wanted, abs=0.15)


@pytest.mark.long
def test_every_format_gives_the_same_bytes_again() -> None:
    for table in (invented_table(), reversed_table(issue=MARK)):
        assert table_contents(table) == table_contents(table)


@pytest.mark.long
def test_no_format_carries_the_moment_it_was_made() -> None:
    for name, content in table_contents(invented_table()).items():
        assert b"CreationDate" not in content, name
        assert b"ModDate" not in content, name


def test_a_withdrawn_issue_says_so_in_every_text() -> None:
    contents = table_contents(
        invented_table(issue=WITHDRAWN), ["html", "csv", "json", "markdown", "svg"]
    )
    for name, content in contents.items():
        assert "a sortie was wrong" in content.decode("utf-8"), name
        assert re.search("withdrawn", content.decode("utf-8"), re.IGNORECASE), name


def test_an_issue_names_number_date_and_what_went_in() -> None:
    contents = table_contents(invented_table(issue=MARK), ["html", "markdown", "json"])
    for content in contents.values():
        for words in ("two more airframes", "2024-05-01", "f" * 64):
            assert words in content.decode("utf-8")


def test_a_form_that_is_not_known_and_a_torn_row_are_refused() -> None:
    for form in (("sideways", "kt"), ("ias-to-cas", "furlong")):
        with pytest.raises(ImplausibleError, match=form[0] if form[1] == "kt" else form[1]):
            TableForm(*form)
    with pytest.raises(ImplausibleError, match="no reason"):
        ReadingRow(
            cas_kt=60.0,
            ias_kt=None,
            correction_kt=None,
            mean_low_kt=None,
            mean_high_kt=None,
            next_low_kt=None,
            next_high_kt=None,
            altitude_correction_ft=None,
            airframes=0,
        )
    with pytest.raises(ImplausibleError, match="but not all"):
        ReadingRow(
            cas_kt=60.0,
            ias_kt=58.0,
            correction_kt=2.0,
            mean_low_kt=None,
            mean_high_kt=None,
            next_low_kt=None,
            next_high_kt=None,
            altitude_correction_ft=None,
            airframes=3,
        )
    with pytest.raises(ImplausibleError, match=r"IAS \+ correction"):
        ReadingRow(
            cas_kt=60.0,
            ias_kt=58.0,
            correction_kt=3.0,
            mean_low_kt=57.0,
            mean_high_kt=59.0,
            next_low_kt=56.0,
            next_high_kt=60.0,
            altitude_correction_ft=None,
            airframes=3,
        )
    with pytest.raises(ImplausibleError, match="has no rows"):
        invented_table(form=REVERSED)
