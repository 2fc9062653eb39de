from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import pytest

from fleetcal.publish.table_row import TableRow
from fleetcal.services.publishing.printed_digits import as_kept, same_digits
from tests.publish.invented_table import invented_table

pytestmark = pytest.mark.any_store("opens no store")


@dataclass(frozen=True, kw_only=True)
class NewerRow(TableRow):
    """A row of a program that counts one thing more."""

    points_near: int | None = None


def with_rows(count: int | None) -> Any:
    table = invented_table()
    names = [field.name for field in fields(TableRow)]
    rows = [{name: getattr(row, name) for name in names} for row in table.rows]
    counted = [{**row, "flown_by": row["flown_by"] or 0} for row in rows]
    return replace(table, rows=tuple(NewerRow(**row, points_near=count) for row in counted))


def counts(row: TableRow) -> int | None:
    assert isinstance(row, NewerRow)
    return row.points_near


def test_a_value_that_the_program_of_yesterday_did_not_keep_is_not_compared() -> None:
    made = as_kept(with_rows(5), with_rows(None))
    assert [counts(row) for row in made.rows] == [None] * len(made.rows)


def test_a_value_that_was_kept_is_compared() -> None:
    made = as_kept(with_rows(5), with_rows(4))
    assert [counts(row) for row in made.rows] == [5] * len(made.rows)


def test_other_digits_are_other_digits() -> None:
    kept = with_rows(None)
    full = next(row for row in kept.rows if not row.is_empty)
    assert full.altitude_correction_ft is not None
    moved = replace(full, altitude_correction_ft=full.altitude_correction_ft + 10.0)
    made = replace(kept, rows=tuple(moved if row is full else row for row in kept.rows))
    assert same_digits(kept, kept)
    assert not same_digits(made, kept)
