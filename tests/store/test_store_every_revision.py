"""A store of every older revision, with rows in each of its tables, loses nothing by upgrading."""

from __future__ import annotations

import pytest

from fleetcal.store import open_store, schema_state
from tests.older_store import all_values, step
from tests.store.invented_rows import fill_every_table

OLDER = [f"{number:04d}" for number in range(1, int(schema_state.NEWEST_REVISION))]


@pytest.mark.long
@pytest.mark.parametrize("revision", OLDER)
def test_no_value_is_lost_on_the_way_from_an_older_revision(place: str, revision: str) -> None:
    with open_store(place) as store:
        fill_every_table(store)
    step(place, "downgrade", revision)
    before = all_values(place)
    assert before
    assert all(before.values()), [name for name, rows in before.items() if not rows]
    with open_store(place, create=False):
        after = all_values(place)
        assert {name: len(rows) for name, rows in after.items() if name in before} == {
            name: len(rows) for name, rows in before.items()
        }
        for name, rows in before.items():
            width = len(rows[0])
            assert sorted(row[:width] for row in after[name]) == rows, name
    step(place, "downgrade", revision)
    assert all_values(place) == before
