"""The published table of one airframe: one band, lines of its group marked, its own caution."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from fleetcal.publish.cautions import GROUP_CAUTION
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.one_airframe import OneAirframe
from fleetcal.publish.page import table_html
from fleetcal.publish.pooled_table import PooledTable, in_own_unit
from fleetcal.publish.published_files import FORMATS, group_file_stem, publish_table
from fleetcal.publish.table_card import table_card
from fleetcal.publish.table_csv import CSV_COLUMNS, csv_columns, table_csv
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_markdown import table_markdown
from fleetcal.publish.table_pdf import table_pdf
from fleetcal.publish.table_record import table_from_record, table_record
from fleetcal.publish.table_row import TableRow
from tests.publish.invented_table import empty_row, filled_row, invented_points, invented_table
from tests.publish.test_printed_papers import words_of

TAG = "C-03"
FROM_GROUP = f"{TAG} has not flown it: this is from its group"


def own_row(ias_kt: float, note: str = "") -> TableRow:
    row = filled_row(ias_kt)
    return replace(row, next_low_kt=row.mean_low_kt, next_high_kt=row.mean_high_kt, note=note)


def own_table(**changes: object) -> PooledTable:
    """Return a table whose two slowest lines are from the group."""
    rows = (
        empty_row(55.0),
        *(own_row(v, FROM_GROUP) for v in (60.0, 65.0)),
        *(own_row(float(v)) for v in range(70, 145, 5)),
    )
    values: dict[str, object] = {
        "rows": rows,
        "curve": tuple(own_row(float(v)) for v in range(60, 141)),
        "points": tuple(p for p in invented_points() if p.airframe == TAG),
        "airframe_count": 1,
        "point_count": 6,
        "airframe": OneAirframe(
            tag=TAG,
            answers=("At 600 kg C-03 reads 2.1 kt too slow (1.8 to 2.4) at 70 kt.",),
            rests_on=("From 6 points of 1 flight of C-03 itself",),
            group_mean=tuple((float(v), 1.0 - 0.01 * v) for v in range(60, 141)),
        ),
    }
    return invented_table(**(values | changes))


def alone() -> PooledTable:
    """Return a table of an airframe without a group."""
    rows = tuple(own_row(float(v)) for v in range(70, 145, 5))
    return own_table(rows=rows, airframe=OneAirframe(tag=TAG))


def page(table: PooledTable) -> str:
    return table_html(
        table, correction_figure_svg(table), correction_figure_svg(table, narrow=True)
    )


def test_title_and_file_name_begin_with_the_tag() -> None:
    table = own_table()
    assert group_file_stem(table).startswith("C-03__Corrie_2__")
    assert f"<h1>{TAG}, Corrie 2, " in page(table)
    assert table_markdown(table).startswith(f"# Position correction: {TAG}, Corrie 2, ")


@pytest.mark.long
def test_page_and_markdown_have_the_answer_before_the_cautions_and_one_band() -> None:
    for text in (page(own_table()), table_markdown(own_table())):
        assert text.index("too slow (1.8 to 2.4)") < text.index("Before you use this")
        assert text.index("From 6 points of 1 flight") < text.index("Before you use this")
        assert "Group's mean" not in text.split("What stands behind it")[0]
        assert "Next air" not in text
    assert "This air\u00adcraft" in page(own_table())


def test_lines_of_the_group_are_marked_and_the_words_say_what_they_are() -> None:
    text = table_markdown(own_table())
    lines = [line for line in text.splitlines() if line.startswith("| ")]
    marked = [line for line in lines if line.endswith("| its group |")]
    assert [line.split(" | ")[0] for line in marked] == ["| 60", "| 65"]
    assert sum(line.endswith("| its own |") for line in lines) == 15
    assert "It has not flown those that rest on 'its group'" in text


def test_without_lines_of_a_group_there_is_no_column_for_it() -> None:
    text = table_markdown(alone())
    assert "Rests on |" not in text
    assert "Every line rests on flights of C-03 itself." in text


def test_an_airframe_that_has_flown_nothing_says_so() -> None:
    rows = tuple(own_row(float(v), FROM_GROUP) for v in range(70, 145, 5))
    assert "C-03 has flown none of it" in table_markdown(own_table(rows=rows, point_count=0))


def test_every_format_carries_the_caution_for_one_aircraft_and_not_that_for_a_group() -> None:
    own = f"It describes {TAG} alone"
    table = own_table()
    for text in (page(table), table_markdown(table), table_json(table), table_csv(table)):
        assert own in text
        assert GROUP_CAUTION not in text


@pytest.mark.long
def test_the_paper_has_the_answer_and_the_caution_for_one_aircraft(tmp_path: Path) -> None:
    words = " ".join(words_of(table_pdf(own_table()), tmp_path).split())
    assert f"It describes {TAG} alone" in words
    assert words.index("too slow (1.8 to 2.4)") < words.index("Before you use this")
    assert words.count("From 6 points of 1 flight") == 1


@pytest.mark.long
def test_the_card_is_of_this_aircraft_and_marks_what_it_has_not_flown(tmp_path: Path) -> None:
    words = words_of(table_card(own_table()), tmp_path)
    assert f"Only for {TAG} with the static system" in words
    assert "CAS of this aircraft" in words
    assert "one aircraft" not in words
    assert "* 60" in words
    assert "* 70" not in words
    assert f"* {TAG} has not flown it" in words
    assert "* " not in words_of(table_card(alone()), tmp_path)


def test_csv_has_the_band_twice_under_old_names_and_once_under_its_own() -> None:
    read = list(csv.DictReader(io.StringIO(table_csv(own_table()), newline=""), strict=True))
    assert csv_columns(own=True)[: len(CSV_COLUMNS)] == CSV_COLUMNS
    assert csv_columns(own=True)[len(CSV_COLUMNS) :] == (
        *("low_kt", "high_kt"),
        *("from_group", "airframe"),
    )
    assert [row["from_group"] for row in read[:4]] == ["", "true", "true", "false"]
    for row in read:
        assert row["low_kt"] == row["mean_low_kt"] == row["next_low_kt"]
        assert row["high_kt"] == row["mean_high_kt"] == row["next_high_kt"]
        assert row["airframe"] == TAG


def test_json_has_the_airframe_its_answer_and_its_band() -> None:
    read = json.loads(table_json(own_table()))
    assert read["airframe"] == TAG
    assert read["rests_on"] == ["From 6 points of 1 flight of C-03 itself"]
    assert read["answers"][0].startswith("At 600 kg")
    assert [row["from_group"] for row in read["rows"][:4]] == [None, True, True, False]
    assert all(row["low_kt"] == row["mean_low_kt"] for row in read["rows"])
    assert read["rows"][3]["high_kt"] > read["rows"][3]["correction_kt"]


def test_a_table_of_a_group_has_none_of_that() -> None:
    read = json.loads(table_json(invented_table()))
    assert not {"airframe", "answers", "rests_on"} & set(read)
    assert not {"low_kt", "high_kt", "from_group"} & set(read["rows"][3])
    assert '"airframe":{' not in table_record(invented_table())


def test_the_figure_names_the_airframe_its_band_and_its_group() -> None:
    for narrow in (False, True):
        drawing = correction_figure_svg(own_table(), narrow=narrow)
        assert "group's mean" in drawing.replace("&#39;", "'").replace("&#x27;", "'")
        assert "this aircraft" in drawing
        assert "next aircraft" not in drawing.replace("\n", " ")
        assert "group's mean" not in correction_figure_svg(alone(), narrow=narrow)


def test_in_another_unit_the_mean_of_the_group_is_drawn_in_that_too() -> None:
    table = in_own_unit(own_table(form=TableForm("ias-to-cas", "km/h")))
    assert table.airframe is not None
    assert table.airframe.group_mean[0] == pytest.approx((60.0 * 1.852, 0.4 * 1.852))


def test_the_table_comes_back_from_its_text() -> None:
    assert table_from_record(table_record(own_table())) == own_table()


@pytest.mark.long
def test_all_files_are_written_under_the_tag_twice_the_same(tmp_path: Path) -> None:
    first = publish_table(own_table(), tmp_path / "a")
    second = publish_table(own_table(), tmp_path / "b")
    assert len(first) == len(FORMATS)
    for one, other in zip(first, second, strict=True):
        assert one.path.name.startswith("C-03__")
        assert one.path.read_bytes() == other.path.read_bytes()
