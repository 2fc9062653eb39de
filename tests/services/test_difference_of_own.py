"""Two airframes' own curves, and a band of their difference that holds whatever they share."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import DataError
from fleetcal.services.curves.difference_of_own import OwnDifference, difference_of_own
from fleetcal.services.curves.fit_airframe import fit_airframe
from fleetcal.services.curves.fitted_group import CurveRequest
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.publishing.fleet_contents import FleetContents
from fleetcal.store import Store
from tests.services.invented_group import flown_points

TAGS = ["C-02", "C-03", "C-04", "C-05"]
SPEEDS = [float(speed) for speed in range(30, 200, 5)]


@pytest.fixture
def flown(described: Store, tmp_path: Path) -> Store:
    flown_points(tmp_path / "p.csv", TAGS)
    import_points(described, tmp_path / "p.csv")
    return described


def difference(store: Store, first: str, second: str) -> tuple[OwnDifference, ...]:
    fits = [fit_airframe(store, CurveRequest(group=tag), tag) for tag in (first, second)]
    return difference_of_own(fits[0], fits[1], SPEEDS)


def test_the_difference_is_that_of_the_two_tables_where_both_flew(flown: Store) -> None:
    contents = FleetContents(flown, date(2026, 1, 2))
    page = contents.compared("C-02", "C-05")
    tables = [{row.given_kt: row for row in table.rows} for table in (page.first, page.second)]
    assert len(page.rows) > 3
    for ias, first, second, between, low, high in page.rows:
        one, other = (table[ias] for table in tables)
        assert first == pytest.approx(one.correction_kt)
        assert second == pytest.approx(other.correction_kt)
        assert between == pytest.approx(second - first)
        assert not one.note
        assert not other.note
        assert low < between < high
        # wider than the two bands of 95 % end to end, of which it is made at 97.5 %
        assert one.mean_low_kt is not None
        assert one.mean_high_kt is not None
        assert other.mean_low_kt is not None
        assert other.mean_high_kt is not None
        assert low < other.mean_low_kt - one.mean_high_kt
        assert high > other.mean_high_kt - one.mean_low_kt


def test_the_other_way_round_it_has_the_other_sign(flown: Store) -> None:
    there, back = difference(flown, "C-02", "C-05"), difference(flown, "C-05", "C-02")
    assert np.allclose(
        [(d.difference_kt, d.low_kt, d.high_kt) for d in there],
        [(-d.difference_kt, -d.high_kt, -d.low_kt) for d in back],
    )
    assert {d.shown for d in there} <= {True, False}


def test_an_airframe_is_not_compared_with_itself_nor_with_one_of_another_weight(
    flown: Store,
) -> None:
    with pytest.raises(DataError, match="cannot be compared with itself"):
        FleetContents(flown, date(2026, 1, 2)).compared("C-02", "C-02")
    one = fit_airframe(flown, CurveRequest(group="C-02"), "C-02")
    light = fit_airframe(flown, CurveRequest(group="C-03", weight_kg=520.0), "C-03")
    with pytest.raises(DataError, match="does not mean the same for both"):
        difference_of_own(one, light, SPEEDS)
