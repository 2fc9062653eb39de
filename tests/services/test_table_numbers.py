"""Numbers and dates as people write them are read in one way or not at all."""

from __future__ import annotations

import pytest

from fleetcal.services.table_dates import (
    DAY_FIRST,
    MONTH_FIRST,
    DoubtfulDateError,
    order_of_dates,
    plain_date,
)
from fleetcal.services.table_numbers import DoubtfulNumberError, decimal_signs, in_unit


@pytest.mark.parametrize(
    ("cell", "others", "plain"),
    [
        ("97.5", [], "97.5"),
        ("1.500", [], "1.500"),
        ("97,5", [], "97.5"),
        ("0,125", [], "0.125"),
        ("4500,125", [], "4500.125"),
        ("1,500", ["97.5"], "1500"),
        ("1,500", ["97,5"], "1.500"),
        ("1.500", ["97,5"], "1500"),
        ("1.234,5", [], "1234.5"),
        ("1,234.5", [], "1234.5"),
        ("1,234,567", [], "1234567"),
        ("1 500", [], "1500"),
        ("1\u202f500,5", [], "1500.5"),
        ("\u22122,5", [], "-2.5"),
        ("1,5e3", [], "1.5e3"),
        ("-", [], ""),
        ("n/a", [], ""),
        ("80 kt", [], "80 kt"),
        ("1,2,3", [], "1,2,3"),
        ("1.2,3,4", [], "1.2,3,4"),
        ("nan", [], "nan"),
        ("=1,5", [], "=1,5"),
    ],
)
def test_a_number_is_read_by_what_the_other_cells_show(
    cell: str, others: list[str], plain: str
) -> None:
    assert decimal_signs([cell, *others]).plain(cell) == plain


@pytest.mark.parametrize(
    ("cell", "others"), [("1,500", []), ("1,500", ["97.5", "97,5"]), ("1.500", ["97.5", "97,5"])]
)
def test_a_sign_that_may_part_thousands_is_doubted(cell: str, others: list[str]) -> None:
    with pytest.raises(DoubtfulNumberError):
        decimal_signs([cell, *others]).plain(cell)


def test_an_uncertainty_of_a_temperature_is_converted_without_the_zero() -> None:
    assert in_unit("50", "degF", "degC", is_difference=False) == "10"
    assert in_unit("1.8", "degF", "K", is_difference=True) == "1"
    assert in_unit("115.077944802354", "mph", "kt", is_difference=False) == "100"
    assert in_unit("fast", "mph", "kt", is_difference=False) == "fast"


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("2026-05-02", "2026-05-02"),
        ("2026/5/2", "2026-05-02"),
        ("2026-05-02 10:31:00", "2026-05-02"),
        ("20260502", "2026-05-02"),
        ("2.5.2026", "2026-05-02"),
        ("02.05.2026 00:00", "2026-05-02"),
        ("25/04/2026", "2026-04-25"),
        ("04/25/2026", "2026-04-25"),
        ("03/03/2026", "2026-03-03"),
        ("2 May 2026", "2026-05-02"),
        ("02-Mar-26", "2026-03-02"),
        ("Sept 2, 2026", "2026-09-02"),
        ("31.02.2026", "31.02.2026"),
        ("2.5.26", "2.5.26"),
        ("2 Ju 2026", "2 Ju 2026"),
        ("13/13/2026", "13/13/2026"),
        ("45414", "45414"),
        ("", ""),
    ],
)
def test_a_date_that_can_mean_one_day_is_read(cell: str, day: str) -> None:
    assert plain_date(cell, order_of_dates([cell])) == day


def test_other_rows_show_which_of_day_and_month_comes_first() -> None:
    assert order_of_dates(["03/04/2026", "25/04/2026"]) == DAY_FIRST
    assert order_of_dates(["04/25/2026", "03/04/2026"]) == MONTH_FIRST
    assert plain_date("03/04/2026", DAY_FIRST) == "2026-04-03"
    assert plain_date("03/04/2026", MONTH_FIRST) == "2026-03-04"
    for cells in (["03/04/2026"], ["25/04/2026", "04/25/2026"], ["05-06-2026", "2026-01-01"]):
        with pytest.raises(DoubtfulDateError):
            order_of_dates(cells)
