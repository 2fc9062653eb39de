"""What a table says of weights: the one it holds for, a light one beside it, and who read what."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from typing import Any

import pytest

from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.page import table_html
from fleetcal.publish.paper import Paper
from fleetcal.publish.pooled_table import PlottedPoint
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
from fleetcal.publish.table_card import table_card
from fleetcal.publish.table_csv import table_csv
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_markdown import table_markdown
from fleetcal.publish.table_pdf import table_pdf
from fleetcal.publish.table_record import table_from_record, table_record
from tests.publish.invented_table import invented_readings, invented_table


def two_weights(**changes: object):
    """The invented table, with a light weight at which every CAS is 1.3 kt lower."""
    whole = invented_table(**changes)
    rows = tuple(
        replace(row, light_correction_kt=(row.cas_kt - 1.3) - row.given_kt)
        if row.cas_kt is not None
        else row
        for row in whole.rows
    )
    readings = tuple(
        replace(row, light_correction_kt=row.given_kt - (row.ias_kt + 1.3))
        if row.ias_kt is not None
        else row
        for row in whole.readings
    )
    return replace(whole, rows=rows, readings=readings, light_weight_kg=480.0)


def plain(made: str) -> str:
    told = re.sub(r"<[^>]*>|\|", " ", made).replace("\u00a0", " ").replace("\u00ad", "")
    return " ".join(told.replace("\\", "").split())


@pytest.mark.parametrize("made", [lambda table: table_html(table, "<svg>"), table_markdown])
def test_the_heading_of_a_speed_says_at_which_weight_it_is_one(made) -> None:
    assert re.search(r"IAS,? at 600 kg, kt", plain(made(invented_table())))
    form = TableForm(direction="cas-to-ias", speed_unit="mph")
    turned = invented_table(form=form, readings=invented_readings())
    assert re.search(r"IAS,? at 600 kg, mph", plain(made(turned)))


@pytest.mark.parametrize("made", [lambda table: table_html(table, "<svg>"), table_markdown])
@pytest.mark.parametrize("direction", ["ias-to-cas", "cas-to-ias"])
def test_where_the_light_weight_matters_both_are_printed(made, direction: str) -> None:
    form = TableForm(direction=direction)
    told = plain(made(two_weights(form=form, readings=invented_readings())))
    second = "CAS" if direction == "ias-to-cas" else "IAS"
    assert re.search(rf"{second},? at 600 kg, kt {second},? at 480 kg, kt", told)
    line = "60 +2.7 62.7 61.4 " if direction == "ias-to-cas" else "65 +2.5 62.5 63.8 "
    assert line in told


@pytest.mark.long
def test_both_weights_are_on_the_card(monkeypatch: pytest.MonkeyPatch) -> None:
    words: list[str] = []
    put = Paper.put

    def also_kept(paper: Paper, text: str, *rest: Any, **how: Any) -> None:
        words.append(text)
        put(paper, text, *rest, **how)

    monkeypatch.setattr(Paper, "put", also_kept)
    table_card(two_weights())
    assert [w for w in words if w in ("at 600 kg", "at 480 kg")] == ["at 600 kg", "at 480 kg"]
    assert {"62.7", "61.4"} <= set(words)
    assert table_pdf(two_weights()).startswith(b"%PDF")


def test_files_for_programs_carry_weights_and_both_counts() -> None:
    rows = list(csv.DictReader(io.StringIO(table_csv(two_weights()), newline="")))
    (row,) = [row for row in rows if row["ias_kt"] == "60.0"]
    assert (row["cas_kt"], row["cas_at_light_weight_kt"]) == ("62.7", "61.4")
    assert (row["weight_kg"], row["light_weight_kg"]) == ("600.0", "480")
    read = replace(invented_table().rows[-2], flown_by=0)
    told = json.loads(table_json(invented_table(rows=(read,))))
    assert (told["rows"][0]["airframes"], told["rows"][0]["flown_by"]) == (8, 0)
    assert "at weight_kg" in told["ias_means"]
    assert "<td>0</td></tr>" in table_html(invented_table(rows=(read,)), "<svg>")


def test_axes_and_points_of_a_figure_say_which_airspeed_is_meant() -> None:
    point = PlottedPoint(
        airframe="C-07",
        ias_kt=145.2,
        correction_kt=-0.7,
        u_correction_kt=0.5,
        read_kt=130.4,
        read_at_kg=486.0,
    )
    table = invented_table(points=(point,))
    site = curve_figure(
        "a", CurveFigure(table=table, points=table.points, marked=frozenset(), caption="c")
    )
    assert "C-07: \u22120.7 ± 0.5 kt at 145 kt IAS at 600 kg, read as 130 kt at 486 kg" in site
    for drawn in (correction_figure_svg(table), site):
        assert "indicated airspeed, kt (IAS at 600 kg)" in drawn


def test_counts_and_weights_are_kept_in_an_issue_and_missing_from_older_ones() -> None:
    table = two_weights()
    assert table_from_record(table_record(table)) == table
    older = json.loads(table_record(table))
    older["rows"] = [row[:10] for row in older["rows"]]
    older["points"] = [point[:4] for point in older["points"]]
    del older["light_weight_kg"]
    read = table_from_record(json.dumps(older))
    assert read.rows[5].flown_by is None
    assert "<td></td></tr>" in table_html(read, "<svg>")
