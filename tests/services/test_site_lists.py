"""Sorties as an airframe's page lists them, and the way to the next page."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from fleetcal.publish.site.content_sortie import TermLine
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.pages_sortie import sortie_page
from fleetcal.publish.site.write_site import write_site
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.publishing.fleet_contents import FleetContents
from fleetcal.services.publishing.publish_site import fleet_site
from fleetcal.services.publishing.site_lists import around_airframe
from fleetcal.services.publishing.sortie_facts import sortie_facts
from fleetcal.store import Store, select_points
from tests.services.invented_group import flown_points

TAGS = ["C-02", "C-03", "C-04", "C-05"]


@pytest.fixture
def flown(described: Store, tmp_path: Path) -> Store:
    flown_points(tmp_path / "p.csv", TAGS)
    import_points(described, tmp_path / "p.csv")
    return described


def test_airframes_lead_on_to_one_another_in_their_order() -> None:
    assert around_airframe(["A", "B", "C"], "A")[0] is None
    before, after = around_airframe(["A", "B", "C"], "B")
    assert before is not None
    assert after is not None
    assert (before.name, after.name, after.path) == ("A", "C", "airframes/C.html")
    assert around_airframe(["A", "B", "C"], "C")[1] is None


@pytest.mark.long
def test_airframe_group_and_sortie_lead_to_each_other(flown: Store, tmp_path: Path) -> None:
    write_site(fleet_site(flown, date(2026, 1, 2), False, False, lambda words: None), tmp_path)
    contents = FleetContents(flown, date(2026, 1, 2))
    for tag in TAGS:
        page = contents.airframe(tag)
        text = (tmp_path / page.path).read_text(encoding="utf-8")
        assert {one.number for one in page.sorties} == {point.sortie for point in page.points}
        for line in page.sorties:
            assert f'href="../{line.page}"' in text
            sortie = contents.sortie(line.number)
            assert sortie.groups
            back = (tmp_path / line.page).read_text(encoding="utf-8")
            assert f'href="../{page.path}"' in back
            for group in sortie.groups:
                assert f'href="../{group.path}"' in back
                assert f'href="../{page.path}"' in (tmp_path / group.path).read_text("utf-8")


def test_the_sorties_of_an_airframe_are_oldest_first_and_lead_on(flown: Store) -> None:
    contents = FleetContents(flown, date(2026, 1, 2), with_days=True)
    lines = contents.airframe("C-02").sorties
    assert [one.flown for one in lines] == sorted(one.flown for one in lines)
    numbers = [one.number for one in lines]
    pages = [contents.sortie(number) for number in numbers]
    assert [page.before and page.before.name for page in pages] == [
        None,
        *(f"sortie {number}" for number in numbers[:-1]),
    ]
    assert pages[-1].after is None


def test_what_was_taken_is_said_as_it_was_kept(flown: Store) -> None:
    with flown.reading() as session:
        rows = select_points(session)[:1]
    kept = '{"bench": {"airspeed": null}, "humidity": {"from": "nobody", "humidity_pct": 55.0}}'
    facts = dict(sortie_facts(rows, (), kept))
    assert facts["Humidity"] == "55\u00a0%; nobody noted it"
    assert facts["Indicator"].startswith("without a bench check")
    assert "Thermometer" not in facts
    assert dict(sortie_facts(rows, (), "{}")).keys() == {"Read", "Weight"}


def test_terms_of_the_budget_that_would_be_zero_are_named_in_one_line(
    flown: Store, tmp_path: Path
) -> None:
    contents = FleetContents(flown, date(2026, 1, 2))
    page = contents.sortie(contents.sorties[0])
    terms = (
        TermLine("leg scatter", "point", (0.19, 0.004)),
        TermLine("track rounding", "point", (0.004, None)),
        TermLine("altimeter", "airframe", (0.001, 0.0)),
    )
    frame = PageFrame(facts=contents.facts, to=lambda path: path)
    text = str(sortie_page(replace(page, points=page.points[:2], terms=terms), frame))
    assert "Below 0.005 kt everywhere: track rounding; altimeter, of the airframe." in text
    assert text.count("track rounding") == 1
    assert '<th scope="row" class="plain">leg scatter</th>' in text
