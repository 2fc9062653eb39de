"""The page of a group: the answer first, where it was flown, and the files beside it."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest

from fleetcal.publish.pooled_table import PlottedPoint
from fleetcal.publish.site.content import GroupPage, GroupSortie, MemberLine, SiteFacts
from fleetcal.publish.site.content_sortie import Neighbour
from fleetcal.publish.site.downloads import fleet_downloads, group_downloads
from fleetcal.publish.site.flown_speeds import flown_speeds
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.group_answers import group_answers
from fleetcal.publish.site.pages import group_page
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit
from tests.publish.invented_table import filled_row, invented_table
from tests.publish.test_overview import airframe, overview, point

FRAME = PageFrame(
    facts=SiteFacts("2026-01-02", "0", "", "Corrie 2 fleet"), to=lambda path: f"../{path}"
)


def read(ias_kt: float, read_kt: float, weight_kg: float, tag: str = "C-01") -> PlottedPoint:
    return PlottedPoint(
        airframe=tag,
        ias_kt=ias_kt,
        correction_kt=1.0,
        u_correction_kt=0.3,
        read_kt=read_kt,
        read_at_kg=weight_kg,
    )


def group() -> GroupPage:
    return GroupPage(
        name="wing boom / 75 kW four / two-blade fixed",
        table=invented_table(type_name="Corrie 2", static_source="wing boom"),
        members=(
            MemberLine(
                airframe="C-05",
                points=4,
                sorties=1,
                verdict="set aside",
                largest_departure_kt=3.0,
                at_ias_kt=90.0,
                reason="4 points: leak",
                low_kt=2.0,
                high_kt=4.0,
            ),
        ),
        handbooks=(),
        issues=("wing boom: issue 1 of 2024-05: first.",),
        sorties=(
            GroupSortie(
                number=7,
                flown="2024-03",
                technique="legs",
                flap_setting="up",
                points=4,
                used=4,
                wind="",
                airframe="C-05",
            ),
        ),
        before=Neighbour("belly pair", "groups/belly.html"),
        after=None,
    )


def test_the_answer_is_the_calibrated_airspeed_with_the_band_for_another_aircraft() -> None:
    rows = tuple(filled_row(speed) for speed in (60.0, 80.0, 90.0, 130.0))
    first, middle, last = group_answers(invented_table(rows=rows))
    assert first == (
        "At 60 kt indicated the group flies 62.7 kt calibrated, another aircraft of the group "
        "60.9 to 64.5: it reads 2.7 kt too slow."
    )
    assert middle.startswith("At 80 kt indicated the group flies 81.5 kt")
    assert last.endswith("right within that band.")


def test_the_answer_stays_below_the_limit_of_the_port_and_in_the_unit_of_the_table() -> None:
    rows = tuple(filled_row(speed) for speed in (60.0, 80.0, 100.0))
    table = invented_table(rows=rows)
    limited = replace(table, limits=(TableLimit("never exceed", 90.0, "the handbook", bound=True),))
    assert [line[:8] for line in group_answers(limited)] == ["At 60 kt", "At 80 kt"]
    in_mph = replace(table, form=TableForm(speed_unit="mph"))
    assert group_answers(in_mph)[0].startswith("At 69.0 mph indicated the group flies 72.1 mph")


def test_airspeeds_are_counted_as_they_were_read_at_the_weight_of_the_day() -> None:
    points = (
        read(81.0, 79.0, 520.0),
        read(82.0, 80.0, 560.0, "C-02"),
        read(85.0, 82.0, 540.0, "C-02"),
        read(112.0, 110.0, 600.0),
        replace(read(90.0, 90.0, 600.0), read_kt=None),
    )
    lines = flown_speeds(invented_table(points=points))
    assert [(one.low, one.points, one.airframes) for one in lines] == [
        (70.0, 1, 1),
        (80.0, 2, 1),
        (90.0, 0, 0),
        (100.0, 0, 0),
        (110.0, 1, 1),
    ]
    assert (lines[1].lightest_kg, lines[1].heaviest_kg) == (540.0, 560.0)
    assert (lines[2].lightest_kg, lines[2].heaviest_kg) == (None, None)


def test_a_table_whose_points_do_not_say_what_was_read_has_no_such_lines() -> None:
    assert flown_speeds(invented_table()) == []


def test_the_page_leads_to_members_sorties_neighbours_and_files() -> None:
    made = group()
    page = group_page(made, FRAME)
    for path in ("airframes/C-05.html", "sorties/7.html", "groups/belly.html"):
        assert f'href="../{path}"' in page
    for file in group_downloads(made):
        assert f'href="../{file.path}" download' in page
    for name in ("curve", "corrections", "standing", "sorties", "issues", "files"):
        assert f'href="#{name}"' in page
        assert f'id="{name}"' in page
    assert (
        "<title>wing boom, 75 kW four, two-blade fixed: position correction, Corrie 2 fleet<"
        in (page)
    )
    assert page.index("indicated the group flies") < page.index('class="cautions"')
    assert page.index(">C-05</a> is set aside") < page.index('class="cautions"')


def test_a_group_s_files_are_its_published_table() -> None:
    files = {file.path.rpartition(".")[2]: file.make() for file in group_downloads(group())}
    assert set(files) == {"csv", "json", "md", "pdf"}
    assert json.loads(files["json"])["type"] == "Corrie 2"
    assert files["pdf"].startswith(b"%PDF")
    assert next(csv.reader(io.StringIO(files["csv"].decode())))[0] == "ias_kt"


def test_the_fleet_s_files_have_a_row_for_each_line_and_no_formula() -> None:
    fleet = overview(
        airframe("=C-01", "inside", point(), point("@gusts", accepted=False)),
        airframe("C-02", "outside", point(), departure=-3.0),
    )
    rows = {
        file.path: list(csv.DictReader(io.StringIO(file.make().decode())))
        for file in fleet_downloads(fleet)
    }
    assert [one["airframe"] for one in rows["tables/airframes.csv"]] == ["'=C-01", "C-02"]
    assert [one["in_pool"] for one in rows["tables/points.csv"]] == ["true", "false", "true"]
    assert rows["tables/points.csv"][1]["why_out"] == "'@gusts"
    departures = {one["airframe"]: one for one in rows["tables/departures.csv"]}
    assert departures["C-02"]["departure_kt"] == "-3.00"
    assert rows["tables/groups.csv"] == []


@pytest.mark.parametrize("verdict", ["inside", "undecided"])
def test_one_that_does_not_stand_out_is_not_named_before_the_caution(verdict: str) -> None:
    made = group()
    calm = replace(made, members=tuple(replace(m, verdict=verdict) for m in made.members))
    page = group_page(calm, FRAME)
    assert "C-05" not in page[: page.index('class="cautions"')]
