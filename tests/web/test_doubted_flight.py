"""A log of which a column stood still is doubted on its page, and kept as not accepted."""

from __future__ import annotations

from html import unescape

import pytest

from fleetcal.services.points.decide_points import list_points
from fleetcal.store import PointFilter, Store
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.shapes import OAT
from tests.flightlog.corpus.texts import iso, readings, table
from tests.web.served import served
from tests.web.test_flight_desk import form, opened, words


def still_log() -> str:
    flown = fly(1, 36000.0)
    columns = iso(flown) | readings(flown)
    return table(columns | {OAT: ["12.5"] * flown.second.size})


@pytest.mark.long
def test_a_still_column_is_named_on_the_page_and_its_points_are_kept_not_accepted(
    described: Store,
) -> None:
    with served(described) as pages:
        path = opened(pages, still_log())
        page = unescape(words(pages.get(path)))
        assert "not accepted: temperature stood still at 12.5 degC" in page
        kept = pages.post(path + "keep", data=form(airframe="C-01", weight_kg="590"))
        assert "is kept as sortie" in words(pages.follow(kept))
    points = list_points(described, PointFilter()).points
    assert points
    assert not any(point.accepted for point in points)
    assert all("temperature stood still" in point.reason for point in points)
