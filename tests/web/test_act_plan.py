"""The next flight planned on a page, and its card."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest

from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import describe_airframe
from fleetcal.services.keeping.store_history import state_of
from fleetcal.services.performance.plan_flight import PlanRequest, plan_flight
from fleetcal.services.performance.plan_words import plan_answer
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import Store
from tests.services.invented_group import flown_points
from tests.web.served import ServedPages, served
from tests.web.test_history import HOSTILE


@pytest.fixture
def pages(described: Store, tmp_path: Path) -> Iterator[ServedPages]:
    flown_points(tmp_path / "p.csv", ["C-02", "C-03", "C-04"])
    import_points(described, tmp_path / "p.csv")
    describe_airframe(described, AirframeAnswers(tag="C-02", stall_kt=42.0))
    with served(described) as opened:
        yield opened


def test_a_plan_answers_first_with_what_the_command_says(pages: ServedPages) -> None:
    text = pages.get("plan?airframe=C-02&points=3&altitude_ft=5000").get_data(as_text=True)
    request = PlanRequest(airframe="C-02", points=3, altitude_ft=5000.0)
    (sentence,) = plan_answer(plan_flight(pages.desk.store, request))
    assert sentence.replace("'", "&#x27;") in text
    assert text.index("Fly 3 runs") < text.index("Plan otherwise")
    assert '<option value="C-02" selected>' in text
    assert 'name="altitude_ft" value="5000"' in text


def test_planning_changes_nothing(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    for path in ("plan", "plan?airframe=C-02", "plan/card?airframe=C-02", "plan/blank"):
        assert pages.get(path).status_code == 200
    assert state_of(pages.desk.store) == before


def test_the_card_is_a_page_without_style_or_script_within(pages: ServedPages) -> None:
    for path in ("plan/card?airframe=C-02&points=6&campaign=", "plan/blank"):
        text = pages.get(path).get_data(as_text=True)
        assert "<style" not in text
        assert re.search(r"<[^>]*\s(style|on\w+)=", text) is None
    text = pages.get("plan/card?airframe=C-02&points=6&sorties=1").get_data(as_text=True)
    assert text.count("helps no.") == 6
    assert "card.css?runs=6" in text
    style = pages.get("plan/card.css?runs=6")
    assert style.mimetype == "text/css"
    assert "--row: 5.4mm" in style.get_data(as_text=True)


@pytest.mark.parametrize("runs", ["0", "99", "-1", HOSTILE, ""])
def test_the_style_of_a_card_has_no_other_sizes(pages: ServedPages, runs: str) -> None:
    text = pages.get(f"plan/card.css?runs={quote(runs)}").get_data(as_text=True)
    assert "--row: 5.4mm" in text
    assert "script" not in text


@pytest.mark.long
def test_the_card_is_sent_as_pdf_under_a_harmless_name(pages: ServedPages) -> None:
    answer = pages.get("plan/card.pdf?airframe=C-02&wind_from_deg=240&wind_kt=15&paper=letter")
    assert answer.get_data().startswith(b"%PDF")
    assert answer.headers["Content-Disposition"] == "attachment; filename=card__C-02.pdf"
    answer.close()
    assert not list(pages.desk.folder.iterdir())


@pytest.mark.long
def test_a_campaign_says_how_many_flights_are_left(pages: ServedPages) -> None:
    text = pages.get("plan?airframe=C-02&campaign=yes&within_kt=0.8").get_data(as_text=True)
    assert "own correction" in text
    assert re.search(r"Flight 1: |Stop: |flight", text)
    assert 'name="within_kt" value="0.8"' in text
    assert 'name="campaign" value="yes" checked' in text


@pytest.mark.long
@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("airframe=C-99&points=3", "is not one of the choices"),
        ("airframe=C-02&points=50", "is outside 1 to 20"),
        ("airframe=C-02&points=2.5", "is not a whole number"),
        ("airframe=C-02&altitude_ft=high", "is not a number"),
        ("airframe=C-02&wind_from_deg=400", "is outside 0 to 360"),
        ("airframe=C-02&fastest_kt=21", ""),
        (f"airframe={quote(HOSTILE)}&flap_setting={quote(HOSTILE)}", "not one of the choices"),
    ],
)
@pytest.mark.parametrize("path", ["plan", "plan/card", "plan/card.pdf"])
def test_a_plan_that_cannot_be_is_refused_and_all_is_kept(
    pages: ServedPages, path: str, query: str, words: str
) -> None:
    answer = pages.get(f"{path}?{query}")
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'role="alert"' in text
    assert words in text
    assert "<script>alert" not in text
    for name, value in re.findall(r"(\w+_kt|\w+_ft|points)=([\w.]+)", query):
        assert f'name="{name}" value="{value}"' in text


def test_more_runs_than_a_card_holds_are_refused_in_words_of_the_page(pages: ServedPages) -> None:
    text = pages.get("plan/card?airframe=C-02&points=8&sorties=1").get_data(as_text=True)
    assert "a test card holds 1 to 6 runs".capitalize() in text
    assert "Ask for &#x27;Runs to fly&#x27; 6 at most" in text


@pytest.mark.long
def test_an_airframe_that_never_flew_can_be_planned_for(pages: ServedPages) -> None:
    text = pages.get("plan?airframe=C-06&fastest_kt=120").get_data(as_text=True)
    assert "before its first flight it is" in text


def test_without_a_stall_speed_the_page_says_where_to_give_it(
    described: Store,
) -> None:
    with served(described) as pages:
        text = pages.get("plan?airframe=C-02").get_data(as_text=True)
    assert "No stall speed" in text
    assert "Describe it further" in text
    assert 'name="points" value="4"' in text
