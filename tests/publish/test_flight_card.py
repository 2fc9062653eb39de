"""The test card: one page in every format, with boxes large enough to write in."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.publish import flight_card_pdf as pdf
from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.flight_card import HOLD, MOST_RUNS, REPEAT, STOP, CardLeg, CardRun, FlightCard
from fleetcal.publish.flight_card_html import flight_card_html
from fleetcal.publish.flight_card_text import flight_card_text
from fleetcal.publish.paper import PAPERS, PLAIN, Ink, Paper

SPEEDS = (135, 120, 105, 85, 75, 65)
LEGS = tuple(
    CardLeg(heading, track, 100)
    for heading, track in ((240, 240), (330, 341), (60, 60), (150, 139))
)


def card(runs: int, **changes: object) -> FlightCard:
    values: dict[str, object] = {
        "airframe": "C-07",
        "type_name": "Corrie 2",
        "group": "mid-fuselage raised disc pair / 100 kW turbo four / three-blade constant-speed",
        "flap_setting": "up",
        "altitude_ft": 4000,
        "weight_kg": 560,
        "slowest_kt": 60,
        "fastest_kt": 135,
        "manoeuvring_kt": 95,
        "wind": "from 240 / 28 kt",
        "minutes": 37,
        "runs": tuple(
            CardRun(speed, place, speed > 95, LEGS) for place, speed in enumerate(SPEEDS[:runs], 1)
        ),
        "purpose": "Purpose: the largest band, ±2.5 kt now, should be ±1.2 kt after these runs.",
        "notes": ("no bench check of the airspeed indicator",),
    }
    return FlightCard(**(values | changes))  # type: ignore[arg-type]


@pytest.mark.long
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("runs", range(1, MOST_RUNS + 1))
def test_nothing_leaves_the_page(runs: int, paper: str, monkeypatch: pytest.MonkeyPatch) -> None:
    edges: list[tuple[float, float]] = []
    put = Paper.put

    def measured(
        made: Paper, text: str, place: float, top: float, size: float, ink: Ink = PLAIN, **how: bool
    ) -> None:
        wide = made.width_of(text, size, ink)
        edges.append((place if how.get("right") else place + wide, top + 1.2 * size))
        assert place - (wide if how.get("right") else 0.0) >= made.margin - 0.1, text
        put(made, text, place, top, size, ink, **how)

    monkeypatch.setattr(Paper, "put", measured)
    pdf.flight_card_pdf(card(runs), paper)
    width, height = PAPERS[paper]
    assert len(edges) > 40
    assert max(lower for _, lower in edges) < 0.985 * height
    assert max(right for right, _ in edges) < 0.985 * width


@pytest.mark.long
def test_a_pdf_is_one_page_and_the_same_twice() -> None:
    made = pdf.flight_card_pdf(card(4))
    assert len(re.findall(rb"/Type /Page\b(?!s)", made)) == 1
    assert made == pdf.flight_card_pdf(card(4))


@pytest.mark.parametrize("made", [flight_card_html, flight_card_text])
def test_every_run_leg_and_rule_is_on_the_card(made) -> None:
    told = " ".join(re.sub(r"<[^>]*>", " ", made(card(4))).replace("&#x27;", "'").split())
    for said in (HOLD, REPEAT, STOP, *CAUTIONS, "1013 hPa / 29.92", "from 240 / 28 kt"):
        assert said in told, said
    for speed in SPEEDS[:4]:
        assert told.count(str(speed)) >= 1
    assert told.count("060") == 2 * 4
    assert told.casefold().count("smooth air only") == 3 + 1  # three runs, and the limits


def test_names_from_a_store_cannot_do_harm() -> None:
    odd = card(1, airframe="<b>", group="a & b", flap_setting="<script>")
    told = flight_card_html(odd)
    assert "<b>C" not in told
    assert "&lt;b&gt;" in told
    assert "<script>" not in told
    pdf.flight_card_pdf(card(1, airframe="\u202e机\n", flap_setting="x" * 90))


def test_an_unknown_manoeuvring_speed_asks_for_smooth_air() -> None:
    assert "fly all runs in smooth air" in flight_card_text(card(2, manoeuvring_kt=None))


def test_more_runs_than_fit_are_refused() -> None:
    runs = card(6).runs
    with pytest.raises(ImplausibleError, match="not 7"):
        replace(card(6), runs=(*runs, runs[0]))
    with pytest.raises(ImplausibleError, match="paper"):
        pdf.flight_card_pdf(card(1), "a5")
