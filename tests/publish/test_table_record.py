"""A table kept as text comes back to the last digit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcal.errors import MalformedFileError
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_record import table_from_record, table_record
from tests.publish.invented_table import invented_readings, invented_table


def test_a_table_comes_back_as_it_was_kept_but_for_being_an_issue() -> None:
    table = invented_table(
        form=TableForm("cas-to-ias", "mph"),
        readings=invented_readings(),
        allowed=((60.0, 5.0), (140.0, 5.0)),
        doubts=("a doubt",),
    )
    marked = replace(
        table, issue=IssueMark(number=2, issued_on=date(2024, 5, 1), inputs_sha256="f" * 64)
    )
    assert table_from_record(table_record(marked)) == table
    assert table_record(marked) == table_record(table)


def test_one_digit_more_makes_another_text() -> None:
    table = invented_table()
    point = table.points[0]
    moved = replace(point, correction_kt=point.correction_kt * (1.0 + 2e-16))
    assert moved != point
    assert table_record(replace(table, points=(moved, *table.points[1:]))) != table_record(table)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"rows": 1}', "x"])
def test_a_text_that_keeps_no_table_is_refused(text: str) -> None:
    with pytest.raises(MalformedFileError, match="kept of a table"):
        table_from_record(text)


def test_an_unknown_key_is_refused_and_not_dropped() -> None:
    text = table_record(invented_table())
    with pytest.raises(MalformedFileError):
        table_from_record('{"novel":1,' + text[1:])
