"""The files of an airframe hold what its page shows, under names that meet no others."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

from fleetcal.plain_text import file_stem
from fleetcal.publish.site.downloads_airframe import airframe_downloads, may_be_of
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.publishing.fleet_contents import FleetContents
from fleetcal.store import Store
from tests.services.invented_group import flown_points


@pytest.fixture
def contents(described: Store, tmp_path: Path) -> FleetContents:
    flown_points(tmp_path / "p.csv", ["C-02", "C-03", "C-04", "C-05"])
    import_points(described, tmp_path / "p.csv")
    return FleetContents(described, date(2026, 1, 2))


def test_an_airframe_has_its_own_table_and_its_points_as_files(contents: FleetContents) -> None:
    page = contents.airframe("C-02")
    files = {one.path: one for one in airframe_downloads(page)}
    assert set(files) == {
        "tables/own-C-02--up.csv",
        "tables/own-C-02--up.json",
        "tables/points-C-02.csv",
    }
    table = page.own[0].table
    assert table is not None
    own = files["tables/own-C-02--up.csv"].make().decode().splitlines()
    lines = list(csv.DictReader(line for line in own if not line.startswith("#")))
    assert [float(line["ias_kt"]) for line in lines] == [row.given_kt for row in table.rows]
    points = list(csv.DictReader(files["tables/points-C-02.csv"].make().decode().splitlines()))
    assert len(points) == len(page.points)
    assert {line["airframe"] for line in points} == {"C-02"}


@pytest.mark.long
def test_a_card_is_made_only_where_it_is_asked_for(contents: FleetContents) -> None:
    page = contents.airframe("C-02")
    cards = [one for one in airframe_downloads(page, card=True) if one.path.endswith("-card.pdf")]
    assert len(cards) == 1
    assert cards[0].make().startswith(b"%PDF")


@pytest.mark.parametrize("tag", ["C-02", "a/b", ".hidden", "+4", "é" * 300])
def test_every_file_of_an_airframe_is_found_by_its_name(tag: str) -> None:
    for name in (f"points-{file_stem(tag)}.csv", f"own-{file_stem(tag)}--up.csv"):
        assert may_be_of(name, tag)
    assert not may_be_of("Corrie_2__wing_boom__up.csv", tag)
