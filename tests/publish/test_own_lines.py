"""What an airframe's page says first is what its table says, in the table's unit."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from fleetcal.publish.one_airframe import OneAirframe
from fleetcal.publish.site.curve_figure import Around, CurveFigure, curve_figure
from fleetcal.publish.site.own_lines import own_lines
from fleetcal.publish.table_form import TableForm
from tests.publish.invented_table import invented_table


def test_a_slow_a_middle_and_a_fast_speed_are_said_with_their_calibrated_ones() -> None:
    table = invented_table()
    lines = own_lines(table)
    assert len(lines) == 3
    rows = {round(row.given_kt): row for row in table.rows}
    for line in lines:
        found = re.match(
            r"At (\d+) kt indicated you fly ([\d.]+) kt calibrated, ± ([\d.]+): ", line
        )
        assert found, line
        row = rows[int(found[1])]
        assert row.cas_kt is not None
        assert row.mean_high_kt is not None
        assert row.mean_low_kt is not None
        assert float(found[2]) == pytest.approx(row.cas_kt, abs=0.051)
        half = (row.mean_high_kt - row.mean_low_kt) / 2.0
        assert float(found[3]) == pytest.approx(half, abs=0.051)


def test_lines_and_figure_follow_the_unit_of_the_table() -> None:
    table = replace(
        invented_table(form=TableForm(speed_unit="mph")), airframe=OneAirframe(tag="C-01")
    )
    assert all(" mph calibrated" in line and " kt" not in line for line in own_lines(table))
    around = Around(points=table.points, edges=[[(60.0, -1.0), (100.0, -2.0)]])
    shown = CurveFigure(
        table=table, points=table.points, marked=frozenset(), caption="c", around=around
    )
    drawn = curve_figure("a", shown)
    assert "indicated airspeed, mph" in drawn
    assert "correction to add, mph" in drawn
    assert 'data-unit="mph"' in drawn
    curve = re.search(r'data-curve="([^ ]+) ([^ ]+) ', drawn)
    assert curve is not None
    first = table.curve[0]
    assert first.ias_kt is not None
    assert first.cas_kt is not None
    assert float(curve[1]) == pytest.approx(first.ias_kt * 1.150779, abs=0.051)
    assert float(curve[2]) == pytest.approx(first.cas_kt * 1.150779, abs=0.051)
