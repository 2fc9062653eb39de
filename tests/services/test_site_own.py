"""The page of an airframe on the site begins with its own answer, the one that its curve gives."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from fleetcal.publish.cautions import GROUP_CAUTION
from fleetcal.publish.site.content import FleetSite
from fleetcal.publish.site.content_airframe import AirframePage
from fleetcal.publish.site.write_site import write_site
from fleetcal.services.curves import among_others
from fleetcal.services.curves.fit_pool import fit_pool
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.pool_members import Pool
from fleetcal.services.curves.pooled_curve import pooled_curve
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.publishing.publish_site import fleet_site
from fleetcal.store import Store, reject_points, select_points
from tests.services.invented_group import flown_points

pytestmark = pytest.mark.long

TAGS = ["C-02", "C-03", "C-04", "C-05"]


@pytest.fixture
def flown(described: Store, tmp_path: Path) -> Store:
    flown_points(tmp_path / "p.csv", TAGS)
    import_points(described, tmp_path / "p.csv")
    return described


def made(store: Store) -> FleetSite:
    return fleet_site(store, date(2026, 1, 2), False, False, lambda words: None)


def pages_of(site: FleetSite) -> dict[str, AirframePage]:
    return {page.tag: page for page in site.airframes}


def test_the_page_of_an_airframe_has_the_numbers_of_its_own_curve(flown: Store) -> None:
    pages = pages_of(made(flown))
    for tag in ("C-02", "C-05"):
        (own,) = pages[tag].own
        curve = pooled_curve(flown, CurveRequest(group=tag))
        assert own.table is not None
        assert own.table.airframe is not None
        assert own.table.rows == curve.rows
        assert own.table.airframe.rests_on == curve.rests_on
        assert {point.airframe for point in own.table.points} == {tag}
        assert own.group_page in {page.path for page in made(flown).groups}


def test_each_group_is_fitted_once_for_all_its_airframes(
    flown: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    fitted: list[GroupName] = []
    real = fit_pool

    def counting(request: CurveRequest, pool: Pool, name: GroupName) -> FittedGroup:
        fitted.append(name)
        return real(request, pool, name)

    monkeypatch.setattr(among_others, "fit_pool", counting)
    answers = [one for page in made(flown).airframes for one in page.own if one.table is not None]
    assert len(answers) > len(fitted) > 0
    assert len(fitted) == len(set(fitted))


def test_the_answer_stands_above_the_standing_and_the_groups_page_leads_to_it(
    flown: Store, tmp_path: Path
) -> None:
    site = made(flown)
    write_site(site, tmp_path / "site", lambda made, count: None)
    text = (tmp_path / "site" / "airframes" / "C-02.html").read_text(encoding="utf-8")
    first = text.index(" kt indicated you fly ")
    assert first < text.index("Before you use this") < text.index("Corrections of C-02, flaps up")
    assert text.index("This air\u00adcraft") < text.index("In the group")
    assert 'class="group-mean fits"' in text
    assert 'data-own="yes"' in text
    assert "It describes C-02 alone" in text
    assert GROUP_CAUTION not in text
    group = (tmp_path / "site" / site.groups[0].path).read_text(encoding="utf-8")
    assert "The page of an airframe begins with its own correction." in group
    assert "data-own" not in group.split("<script>")[0]


def test_an_airframe_whose_points_are_kept_out_says_so_in_place_of_an_answer(
    flown: Store, tmp_path: Path
) -> None:
    with flown.writing() as session:
        own = [row.point_id for row in select_points(session) if row.airframe == "C-02"]
        reject_points(session, own, "static line leaks", datetime(2026, 1, 2, tzinfo=UTC))
    site = made(flown)
    (answer,) = pages_of(site)["C-02"].own
    assert answer.table is None
    assert "C-02 has no correction" in answer.why
    write_site(site, tmp_path / "site", lambda made, count: None)
    text = (tmp_path / "site" / "airframes" / "C-02.html").read_text(encoding="utf-8")
    assert text.index("C-02 has no correction") < text.index("Before you use this")
