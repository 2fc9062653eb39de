from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcal.flightlog.clock_text import date_times, dates, times_of_day
from fleetcal.flightlog.missing_codes import without_codes

instants = st.datetimes(datetime(1971, 1, 1), datetime(2199, 1, 1))
START = datetime(1970, 1, 1)


def cells(texts):
    return np.array([text.encode() for text in texts] or [b""], dtype="S40")


@given(
    st.lists(instants, min_size=1, max_size=40),
    st.integers(0, 6),
    st.sampled_from(["", "Z", "+02:00", "-0530", " UTC"]),
    st.sampled_from(["T", " "]),
)
def test_a_date_and_time_is_read_as_it_was_written(written, decimals, zone, between):
    texts = []
    for instant in written:
        fraction = f".{instant.microsecond:06d}"[: decimals + 1] if decimals else ""
        texts.append(instant.strftime(f"%Y-%m-%d{between}%H:%M:%S") + fraction + zone)
    shift = {"+02:00": 7200.0, "-0530": -19800.0}.get(zone, 0.0)
    wanted = [
        (instant.replace(microsecond=0) - START).total_seconds()
        + int(instant.microsecond * 10.0 ** (decimals - 6)) / 10.0**decimals
        - shift
        for instant in written
    ]
    read = date_times(cells(texts), "ymd")
    np.testing.assert_allclose(read, np.array(wanted, dtype=np.float64), atol=2e-6, rtol=0)


@given(st.lists(instants, min_size=1, max_size=40), st.sampled_from(["dmy", "mdy", "ymd"]))
def test_a_date_is_read_in_its_order(written, order):
    form = {"dmy": "%d/%m/%Y", "mdy": "%m/%d/%Y", "ymd": "%Y-%m-%d"}[order]
    found = dates(cells([instant.strftime(form) for instant in written]), order)
    midnights = [datetime.combine(i.date(), datetime.min.time()) for i in written]
    np.testing.assert_array_equal(found, [(m - START).total_seconds() for m in midnights])


@given(st.lists(st.integers(0, 86399), min_size=1, max_size=40), st.sampled_from([24, 12, 0]))
def test_a_time_of_day_is_read_in_every_writing(seconds, hours):
    moments = [datetime(2024, 1, 1, tzinfo=UTC) + timedelta(seconds=s) for s in seconds]
    form = {24: "%H:%M:%S", 12: "%I:%M:%S %p", 0: "%H%M%S"}[hours]
    texts = [moment.strftime(form) for moment in moments]
    found = times_of_day(cells(texts), "hhmmss" if hours == 0 else "hh:mm:ss")
    np.testing.assert_array_equal(found, seconds)


def test_days_that_are_in_no_calendar_are_not_read():
    texts = ["2024-02-29T10:00:00Z", "2023-02-29T10:00:00Z", "2024-13-01T10:00:00Z", "x", ""]
    assert np.isnan(date_times(cells(texts), "ymd")).tolist() == [False, True, True, True, True]


@pytest.mark.long
@given(st.lists(st.text(max_size=30), max_size=30))
def test_no_text_whatever_stops_the_reading(texts):
    given_cells = np.array([text.encode("utf-8", "replace")[:40] for text in texts], dtype="S40")
    for read in (date_times, dates, times_of_day):
        assert read(given_cells, "ymd").shape == given_cells.shape


@given(st.lists(st.floats(-9997.0, 1e6), max_size=50))
def test_ordinary_numbers_are_no_codes(values):
    numbers = np.array(values, dtype=float)
    np.testing.assert_array_equal(without_codes(numbers), numbers)
