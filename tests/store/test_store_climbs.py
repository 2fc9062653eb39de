"""Climbs and glides go in with their sortie and come out with their equipment."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date

import pytest

from fleetcal.errors import DataError
from fleetcal.store import (
    NewLeakCheck,
    add_climbs,
    add_leak_check,
    count_climbs,
    open_store,
    save_description,
    select_climbs,
)
from tests.store.invented_rows import CLIMB, FLEET, GLIDE, MOMENT, fly


@pytest.fixture
def flown_place(place: str) -> str:
    with open_store(place) as store, store.writing() as session:
        save_description(session, FLEET)
        add_climbs(session, fly(session), [CLIMB, GLIDE], now=MOMENT)
    return place


def test_what_goes_in_comes_out_with_its_equipment(flown_place: str) -> None:
    with open_store(flown_place) as store, store.reading() as session:
        climb, glide = select_climbs(session, "Corrie 2")
        assert select_climbs(session, kind="glide") == [glide]
        assert count_climbs(session, climb.sortie_id) == 2
    for row, new in ((climb, CLIMB), (glide, GLIDE)):
        assert asdict(new).items() <= asdict(row).items()
    assert (climb.airframe, climb.flown_on) == ("C-01", date(2018, 1, 1))
    assert climb.engine
    assert climb.barred == ""


def test_a_failed_leak_check_bars_climbs_too(flown_place: str) -> None:
    with open_store(flown_place) as store:
        with store.writing() as session:
            check = NewLeakCheck(
                airframe="C-01",
                checked_on=date(2018, 6, 1),
                loss_ft=300.0,
                limit_ft=100.0,
                limit_source="invented",
            )
            add_leak_check(session, check)
        with store.reading() as session:
            assert all("leak" in row.barred for row in select_climbs(session))


@pytest.mark.parametrize(
    ("wrong", "rule"),
    [
        ({"rate_ftmin": -10.0}, "rate_of_kind"),
        ({"ways": 3}, "ways_known"),
        ({"accepted": False}, "rejected_with_reason"),
        ({"power_state": " "}, "power_state_filled"),
        ({"thrust_rate_ftmin": -1.0}, "thrust_rate_ftmin_range"),
        ({"kind": "dive"}, "kind_known"),
    ],
)
def test_the_store_itself_refuses_what_cannot_be(
    flown_place: str, wrong: dict[str, object], rule: str
) -> None:
    bad = replace(CLIMB, number=9, **wrong)  # type: ignore[arg-type]
    with open_store(flown_place) as store, pytest.raises(DataError), store.writing() as session:
        add_climbs(session, fly(session, "C-02", date(2020, 3, 1)), [bad], now=MOMENT)
    with open_store(flown_place) as store, store.reading() as session:
        assert len(select_climbs(session)) == 2, rule
