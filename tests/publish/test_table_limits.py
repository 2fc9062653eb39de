"""What is published marks the limits of the type on the port of the table."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import pytest

from fleetcal.publish.cautions import LIMIT_CAUTION
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.page import table_html
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
from fleetcal.publish.table_csv import table_csv
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_limit import TableLimit
from fleetcal.publish.table_markdown import table_markdown
from fleetcal.publish.table_record import table_from_record, table_record
from tests.publish.invented_table import invented_readings, invented_table

NEVER = TableLimit("never exceed", 124.46, "Handbook first edition prints 139 kt", True)
CALM = TableLimit("manoeuvring", 93.2, "Handbook first edition prints 98 kt", False)


def limited(**changes: object):
    return invented_table(limits=(NEVER, CALM), **changes)


def test_lines_above_never_exceed_are_named_in_files_for_programs() -> None:
    rows = list(csv.DictReader(io.StringIO(table_csv(limited()))))
    noted = {float(row["ias_kt"]): row["note"] for row in rows if row["cas_kt"]}
    assert [ias for ias, note in noted.items() if note == "above never exceed"] == [
        125.0,
        130.0,
        135.0,
        140.0,
    ]
    assert {row["limits"][:33] for row in rows} == {"never exceed 124.4; manoeuvring 9"}
    told = json.loads(table_json(limited()))
    above = [row["ias_kt"] for row in told["rows"] if row["note"] == "above never exceed"]
    assert above == [125, 130, 135, 140]
    assert told["limits"][0] == {
        "name": "never exceed",
        "not_above_ias_kt": 124.4,
        "reasons": "Handbook first edition prints 139 kt",
    }


@pytest.mark.parametrize("made", [lambda table: table_html(table, "<svg>"), table_markdown])
def test_a_line_for_people_stands_where_never_exceed_is_passed(made) -> None:
    told = re.sub(r"<[^>]*>|\|", " ", made(limited()))
    told = " ".join(told.replace("\\", "").split())
    place = told.index("Never exceed on this port: 124.4 kt IAS. Faster lines are not for flying.")
    assert re.search(r" 120 \S+ \d", told[:place])
    assert re.match(r" 125 ", told[place + 73 :])
    assert "Handbook first edition prints 98 kt" in told
    assert LIMIT_CAUTION in told.replace("&#x27;", "'")
    assert "not for flying" not in made(invented_table())


def test_a_limit_is_rounded_down_in_every_unit_and_marked_by_the_reading() -> None:
    told = json.loads(table_json(limited(form=TableForm(speed_unit="mph"))))
    assert told["limits"][0]["not_above_ias_mph"] == 143.2  # 124.46 kt are 143.225 mph
    # In a table that is looked up by CAS it is the IAS that counts: CAS 75 kt reads 72.5 kt.
    low = replace(NEVER, usable_kt=72.4)
    form = TableForm(direction="cas-to-ias")
    table = invented_table(limits=(low,), form=form, readings=invented_readings())
    rows = json.loads(table_json(table))["rows"]
    assert [row["cas_kt"] for row in rows if row["note"].startswith("above never")] == [75.0]


def test_both_figures_draw_never_exceed_and_not_the_manoeuvring_speed() -> None:
    table = limited()
    site = curve_figure(
        "a", CurveFigure(table=table, points=table.points, marked=frozenset(), caption="c")
    )
    for drawn in (correction_figure_svg(table), site):
        assert "never exceed 124" in drawn
        assert "manoeuvring" not in drawn
    assert 'data-above="124.4600" data-above-words="Above never exceed."' in site


def test_limits_are_kept_in_an_issue_and_missing_from_older_ones() -> None:
    record = table_record(limited())
    assert table_from_record(record).limits == (NEVER, CALM)
    older = json.loads(record)
    del older["limits"]
    assert table_from_record(json.dumps(older)).limits == ()
