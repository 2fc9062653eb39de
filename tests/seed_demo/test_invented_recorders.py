"""What the invented recorders write: steps, words, clocks, and nothing the flight did not have."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime

import numpy as np
import pytest

from seed_demo.flight import Flight
from seed_demo.leg_sheet import HEADINGS, leg_sheet_text, legs_of
from seed_demo.recorder import COARSE, FINE, METRIC, RECORDERS, Recorder, log_text
from seed_demo.story import build_sorties

START = datetime(2023, 6, 1, 23, 59, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def flight() -> Flight:
    return build_sorties()[0].flown()


def cells(recorder: Recorder, text: str) -> tuple[list[str], list[list[str]]]:
    lines = list(csv.reader(io.StringIO(text), delimiter=recorder.separator))
    first = len(recorder.preamble)
    rows = lines[first + (2 if recorder.units_row else 1) :]
    return lines[first], rows


@pytest.mark.parametrize("recorder", RECORDERS, ids=lambda r: r.name)
def test_every_row_has_every_column_and_every_value_is_a_step_of_the_recorder(
    recorder: Recorder, flight: Flight
) -> None:
    headings, rows = cells(recorder, log_text(recorder, flight, START))
    assert len(rows) == flight.weight.size
    assert {len(row) for row in rows} == {len(headings)}
    clocks = len(recorder.clock_headings)
    for place, column in enumerate(recorder.columns, start=clocks):
        values = np.array([float(row[place]) for row in rows])
        steps = values / column.step
        assert steps == pytest.approx(np.round(steps), abs=1e-6)


@pytest.mark.parametrize("recorder", RECORDERS, ids=lambda r: r.name)
def test_no_logged_value_is_more_than_half_a_step_from_the_reading(
    recorder: Recorder, flight: Flight
) -> None:
    _, rows = cells(recorder, log_text(recorder, flight, START))
    for place, column in enumerate(recorder.columns, start=len(recorder.clock_headings)):
        logged = np.array([float(row[place]) for row in rows])
        away = logged - column.values(flight)
        if "track" in column.heading:
            away = (away + recorder.declination_deg + 180.0) % 360.0 - 180.0
        assert np.abs(away).max() <= column.step / 2.0 + 1e-6


def test_the_clocks_go_through_midnight(flight: Flight) -> None:
    fine = cells(FINE, log_text(FINE, flight, START))[1]
    assert fine[29][:2] == ["2023-06-01", "23:59:59"]
    assert fine[30][:2] == ["2023-06-02", "00:00:00"]
    coarse = cells(COARSE, log_text(COARSE, flight, START))[1]
    assert coarse[30][0] == "2023-06-02T00:00:00Z"
    metric = cells(METRIC, log_text(METRIC, flight, START))[1]
    assert [row[1] for row in metric[29:31]] == ["86399", "0"]


def test_a_magnetic_track_is_the_true_one_less_the_declination(flight: Flight) -> None:
    at = legs_of(flight)[0][2][20]
    true = np.degrees(np.arctan2(flight.gps_east[at], flight.gps_north[at])) % 360.0
    magnetic = float(cells(METRIC, log_text(METRIC, flight, START))[1][at][-1])
    assert (true - 3.0 - magnetic + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.5)


def test_the_leg_sheet_has_a_line_for_every_leg_meant(flight: Flight) -> None:
    lines = list(csv.reader(io.StringIO(leg_sheet_text(flight))))
    assert tuple(lines[0]) == HEADINGS
    spans = legs_of(flight)
    assert [(int(row[0]), int(row[1])) for row in lines[1:]] == [
        (b + 1, n + 1) for b, n, _ in spans
    ]
    for row, (_, _, at) in zip(lines[1:], spans, strict=True):
        meant = flight.indicated_airspeed[at].mean() * 3600.0 / 1852.0
        assert float(row[2]) == pytest.approx(meant, abs=2.5)
        assert 0 <= int(row[6]) < 360
