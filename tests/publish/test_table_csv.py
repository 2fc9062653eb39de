from __future__ import annotations

import csv
import dataclasses
import io

from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_csv import CSV_COLUMNS, table_csv
from tests.publish.invented_table import filled_row, invented_table


def rows_of(table: PooledTable) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table_csv(table), newline=""), strict=True))


def test_the_csv_carries_every_row_and_reads_back_to_the_printed_digits() -> None:
    table = invented_table()
    read = rows_of(table)
    assert len(read) == len(table.rows)
    for cells, row in zip(read, table.rows, strict=True):
        assert float(cells["ias_kt"]) == row.ias_kt
        for name in ("cas_kt", "correction_kt", "mean_low_kt", "mean_high_kt", "next_low_kt"):
            value = getattr(row, name)
            assert (cells[name] == "") == (value is None)
            if value is not None:
                assert abs(float(cells[name]) - value) <= 0.05 + 1e-9
        assert cells["airframes"] == str(row.airframes)
        assert cells["note"] == row.note


def test_every_row_has_all_columns_and_its_caution() -> None:
    text = table_csv(invented_table())
    lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert tuple(lines[0]) == CSV_COLUMNS
    assert {len(line) for line in lines} == {len(CSV_COLUMNS)}
    assert all(line[-1] == f"{SHORT_CAUTION} {PITOT_ASSUMPTION}" for line in lines[1:])
    assert text.count("\r\n") == text.count("\n") == len(lines)


def test_an_empty_row_has_empty_cells_and_its_reason() -> None:
    first = rows_of(invented_table())[0]
    assert first["correction_kt"] == first["cas_kt"] == first["altitude_correction_ft"] == ""
    assert first["note"] == "no aircraft was flown this slowly"


def test_text_that_a_spreadsheet_would_run_is_made_harmless() -> None:
    evil = '=HYPERLINK("http://x";"y")'
    table = invented_table(
        type_name=evil,
        static_source="+1",
        engine="@a",
        propeller="-2",
        flap_setting="a;=1",
        altitude_statement="\t=1\n=2",
        program_version="=9",
        rows=(dataclasses.replace(filled_row(80.0), note="=cmd"),),
    )
    (row,) = rows_of(table)
    numbers = set(CSV_COLUMNS[:9]) | {"weight_kg"}
    for name, cell in row.items():
        if name not in numbers:
            for part in cell.split(";"):
                assert part.lstrip()[:1] not in {"=", "+", "-", "@"}, (name, cell)
    assert row["static_source"] == "'+1"


def test_negative_numbers_stay_numbers() -> None:
    slow = rows_of(invented_table())[-2]
    assert slow["ias_kt"] == "140.0"
    assert slow["correction_kt"] == "-0.5"


def test_the_same_table_gives_the_same_csv() -> None:
    assert table_csv(invented_table()) == table_csv(invented_table())
