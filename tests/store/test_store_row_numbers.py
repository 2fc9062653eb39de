"""Numbers of rows that are added many at once."""

from __future__ import annotations

import pytest
from sqlalchemy import func, select

from fleetcal.store import Store, open_store
from fleetcal.store.models import Leg
from fleetcal.store.row_numbers import next_numbers
from tests.store.invented_rows import fill_every_table


def test_numbers_are_behind_those_in_use_and_rise(filled: Store) -> None:
    with filled.writing() as session:
        highest = session.scalar(select(func.max(Leg.id))) or 0
        numbers = list(next_numbers(Leg.__table__, session.connection(), 5))
    assert numbers == list(range(highest + 1, highest + 6))


@pytest.mark.long
def test_no_two_programs_are_given_one_number_of_a_server(postgres_store_url: str) -> None:
    with open_store(postgres_store_url) as store:
        fill_every_table(store)
        with store._engine.connect() as one, store._engine.connect() as other:
            given = [
                number
                for connection in (one, other, one)
                for number in next_numbers(Leg.__table__, connection, 100)
            ]
    assert len(set(given)) == 300
