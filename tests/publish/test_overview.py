"""The overview: what needs attention first, the curves of all groups, departures drawn to scale."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from fleetcal.publish.site.attention import airframes_off, in_use, points_doubtful
from fleetcal.publish.site.content import GroupPage, Overview, SiteFacts
from fleetcal.publish.site.content_airframe import AirframeSummary, GroupStanding
from fleetcal.publish.site.content_sortie import SitePoint
from fleetcal.publish.site.departures import WIDTH, departures_of
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.groups_figure import groups_figures, line_look
from fleetcal.publish.site.pages import overview_page
from fleetcal.publish.table_limit import TableLimit
from tests.publish.invented_table import invented_table

FRAME = PageFrame(facts=SiteFacts("2026-01-02", "0", "", "Corrie 2 fleet"), to=lambda path: path)
GROUP = "wing boom / 75 kW four / two-blade fixed"


def point(out: str = "", *, accepted: bool = True, sortie: int = 1) -> SitePoint:
    return SitePoint(
        number=1,
        technique="legs",
        flap_setting="up",
        weight_kg=600.0,
        vic_kt=80.0,
        pressure_altitude_ft=3000.0,
        kappa=0.03,
        u_kappa=0.005,
        dvpc_kt=1.2,
        u_dvpc_kt=0.3,
        dhpc_ft=10.0,
        u_dhpc_ft=2.0,
        accepted=accepted,
        flown="2026-01",
        sortie=sortie,
        group=GROUP,
        out=out,
    )


def standing(verdict: str, departure: float = 0.5, half: float = 1.0) -> GroupStanding:
    return GroupStanding(
        group=GROUP,
        group_page="groups/wing.html",
        table=invented_table(),
        verdict=verdict,
        reason="",
        rows=((60.0, 0.1, -0.4, 0.6), (120.0, departure, departure - half, departure + half)),
        points=(),
        largest_departure_kt=departure,
        at_ias_kt=120.0,
        why_aside="5 points: leak" if verdict == "set aside" else "",
    )


def airframe(
    tag: str, verdict: str, *points: SitePoint, departure: float = 0.5, alarms: tuple[str, ...] = ()
) -> AirframeSummary:
    return AirframeSummary(
        tag=tag,
        type="Corrie 2",
        fits=(),
        standings=(standing(verdict, departure),),
        points=points,
        verdict=verdict,
        alarms=alarms,
    )


def group(static_source: str, engine: str, *limits: TableLimit) -> GroupPage:
    table = invented_table(
        type_name="Corrie 2", static_source=static_source, engine=engine, propeller="two-blade"
    )
    return GroupPage(
        name=f"{static_source} / {engine} / two-blade",
        table=replace(table, limits=limits),
        members=(),
        handbooks=(),
        issues=(),
    )


def overview(*airframes: AirframeSummary, groups: tuple[GroupPage, ...] = ()) -> Overview:
    return Overview(
        types=("Corrie 2",),
        group_lines=(),
        groups=groups,
        airframes=airframes,
        sorties=2,
        notes=(),
    )


def test_what_is_off_comes_in_order_with_a_line_each() -> None:
    found = airframes_off(
        [
            airframe("C-01", "inside", alarms=("Its error changed by +2.0 kt.",)),
            airframe("C-02", "outside", departure=3.25),
            airframe("C-03", "set aside", departure=-9.0),
        ]
    )
    assert [(one.tag, one.why) for one in found] == [
        ("C-03", "is set aside: 5 points: leak; it would depart by −9.0 kt at 120 kt."),
        ("C-02", f"stands outside {GROUP} by +3.2 kt at 120 kt."),
        ("C-01", "changed: its error changed by +2.0 kt."),
    ]
    assert found[0].path == "airframes/C-03.html"


def test_one_set_aside_in_a_group_without_a_curve_says_why() -> None:
    alone = replace(airframe("C-09", "set aside", point("leak", accepted=False)), standings=())
    (line,) = airframes_off([alone])
    assert line.why == "is set aside: 1 point: leak."


def test_doubtful_points_are_counted_by_reason_and_those_of_one_set_aside_are_not_repeated() -> (
    None
):
    bad, worse = point("gusts", accepted=False), point("a wrong unit " * 20, accepted=False)
    left_out = point("the airframe stands outside by 3 kt")
    lines = points_doubtful(
        [
            airframe("C-01", "inside", point(), bad, bad, worse),
            airframe("C-02", "outside", left_out),
            airframe("C-03", "set aside", bad),
        ]
    )
    (line,) = lines
    assert line.tag == "C-01"
    assert line.why.startswith("has doubtful points: 2 points: gusts; 1 point: a wrong unit")
    assert len(line.why) < 160


def test_counts_say_what_is_in_use_and_what_is_out() -> None:
    fleet = overview(
        airframe("C-01", "inside", point(), point("gusts", accepted=False)),
        airframe("C-02", "set aside", point("leak", accepted=False, sortie=2)),
    )
    words = [f"{one.count} {one.noun}, {one.out}" for one in in_use(fleet)]
    assert words[:3] == [
        "1 airframe in use, 1 out",
        "1 sortie in use, 1 out",
        "1 point in use, 2 out",
    ]
    waiting = in_use(overview(airframe("C-01", "inside", point()), airframe("C-02", "not judged")))
    assert waiting[0].out == "none out, 1 not flown"
    clean = in_use(overview(airframe("C-01", "inside", point())))
    assert {one.out for one in clean} == {"none out", ""}


def test_a_fleet_without_faults_says_so_before_anything_else() -> None:
    page = overview_page(overview(airframe("C-01", "inside", point())), FRAME)
    assert "No airframe stands outside its group" in page
    assert page.index("No point is doubtful.") < page.index('class="cautions"')


def test_many_lines_are_folded_after_the_first_ten() -> None:
    many = [airframe(f"C-{n:02d}", "outside", point(), departure=3.0) for n in range(14)]
    page = overview_page(overview(*many), FRAME)
    assert "<summary>4 more</summary>" in page
    assert page.count("stands outside") == 14


def test_departures_are_drawn_to_one_scale_with_those_that_stand_out_first() -> None:
    fleet = [
        airframe("C-01", "inside", departure=0.5),
        airframe("C-02", "outside", departure=4.0),
        airframe("C-03", "set aside", departure=-30.0),
        airframe("C-04", "undecided", departure=2.0),
    ]
    found = departures_of(fleet)
    assert found.span_kt == 12.0
    assert [line.tag for line in found.first] == ["C-03", "C-02", "C-04"]
    ((name, (inside,)),) = found.ordinary
    assert (name, inside.tag) == (GROUP, "C-01")
    low, high = re.findall(r"[\d.]+", inside.bar)[0], re.findall(r"[\d.]+", inside.bar)[-1]
    half = WIDTH / 2.0
    assert float(low) == pytest.approx(half * (1.0 - 0.5 / 12.0), abs=0.06)
    assert float(high) == pytest.approx(half * (1.0 + 1.5 / 12.0), abs=0.06)
    far = found.first[0]
    assert far.arrows.startswith("M5 5L0 10")
    assert far.middle == ""
    assert inside.arrows == ""


def test_the_departure_is_the_one_where_it_is_largest() -> None:
    (line,) = departures_of([airframe("C-02", "outside", departure=-4.0)]).first
    assert (line.at_ias_kt, line.departure_kt, line.low_kt, line.high_kt) == (
        120.0,
        -4.0,
        -5.0,
        -3.0,
    )


def test_one_that_was_not_judged_is_counted_and_not_drawn() -> None:
    never = replace(airframe("C-01", "undecided"), standings=())
    found = departures_of([never])
    assert (found.count, found.not_judged) == (0, 1)


def test_the_curves_of_all_groups_are_named_at_their_ends_and_lead_to_their_pages() -> None:
    groups = (group("wing boom", "75 kW four"), group("wing boom", "100 kW turbo four"))
    (figure,) = groups_figures(groups, FRAME)
    wide, narrow, *_ = re.findall(r'<svg viewBox="0 0 \d+ \d+".*?</svg>', figure, re.DOTALL)[:2]
    for drawing in (wide, narrow):
        ET.fromstring(drawing)
        assert drawing.count('class="group-line') == 2
    for page, engine in zip(groups, ("75 kW four", "100 kW turbo four"), strict=True):
        assert figure.count(f'href="{page.path}"') == 2
        assert engine in wide
    assert "75 kW four" in figure[figure.index('class="key') :]


def test_a_curve_ends_at_the_limit_of_its_port() -> None:
    limit = TableLimit("never exceed", 100.0, "the handbook", bound=True)
    (free,) = groups_figures((group("wing boom", "x"),), FRAME)
    (bound,) = groups_figures((group("wing boom", "x", limit),), FRAME)
    assert "at 100 kt." in bound
    assert "at 100 kt." not in free


def test_twelve_lines_differ_in_colour_and_dash_together() -> None:
    assert len({line_look(number) for number in range(1, 13)}) == 12


def test_each_type_has_a_drawing_of_its_own() -> None:
    other = group("belly pair", "x")
    groups = (
        group("wing boom", "x"),
        replace(other, table=replace(other.table, type_name="Skua 2")),
    )
    assert len(groups_figures(groups, FRAME)) == 2
