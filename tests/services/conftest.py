"""Stores with the invented fleet, on both kinds of database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.store import Store, open_store
from tests.services.invented_group import describe
from tests.store_places import begun_at


@pytest.fixture(params=["file", "server"])
def described_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a store with the fleet and no points is: a file, or a database on a server."""
    if request.param == "server":
        place = str(request.getfixturevalue("begun_store_url"))
    else:
        place = begun_at(tmp_path / "store.sqlite3")
    with open_store(place) as store:
        describe(store)
    return place


@pytest.fixture
def described(tmp_path: Path) -> Iterator[Store]:
    """An open store with the fleet and no points."""
    with open_store(begun_at(tmp_path / "store.sqlite3")) as store:
        describe(store)
        yield store
