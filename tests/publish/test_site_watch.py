"""The flights of an airframe in order, on its page of the site."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_season import FlownFlights, fleet_toml, points_csv
from tests.store_places import begun_at

SEASONS = (
    FlownFlights(tag="C-01"),
    FlownFlights(tag="C-02", flights=16, steps=((9, 3.0),), propeller_changed=True),
    FlownFlights(tag="C-03", off=((5, 6.0),)),
    FlownFlights(tag="C-04", flights=3),
    FlownFlights(tag="C-05", flights=2),
)


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Program:
    folder = tmp_path_factory.mktemp("season")
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml(SEASONS), encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(SEASONS), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.fixture(scope="module")
def pages(season: Program, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    season.output("publish", "--site", "--out", folder, "--date", "2024-09-01")
    return folder / "airframes"


def watch_part(page: Path) -> str:
    found = re.search(
        r'<section aria-labelledby="watch-1">.*?</section>', page.read_text("utf-8"), re.DOTALL
    )
    return found[0] if found else ""


@pytest.mark.long
def test_the_page_tells_what_the_command_tells_by_months(season: Program, pages: Path) -> None:
    for tag in ("C-01", "C-02", "C-03"):
        part, found = watch_part(pages / f"{tag}.html"), season.json("watch", tag)
        verdict = re.sub(r"(\d{4}-\d\d)-\d\d", r"\1", found["verdict"])
        assert f"<p>{verdict}.</p>".replace("'", "&#39;") in part.replace("&#x27;", "&#39;")
        assert part.count('<th scope="row">') == len(found["flights"])
        for row in found["flights"]:
            assert f"sorties/{row['sortie_id']}.html" in part
        assert re.search(r"\d{4}-\d\d-\d\d", part) is None


@pytest.mark.long
def test_the_drawing_holds_steps_equipment_and_odd_flights(pages: Path) -> None:
    plain, stepped, odd = (watch_part(pages / f"C-0{n}.html") for n in (1, 2, 3))
    for part in (plain, stepped, odd):
        drawings = re.findall(r"<svg.*?</svg>", part, re.DOTALL)
        assert len(drawings) == 2
        for drawing in drawings:
            ET.fromstring(drawing)
            assert "NaN" not in drawing
    assert stepped.count('class="step"') == stepped.count('class="new-fit"') == 2
    assert plain.count('class="step"') == plain.count('class="off"') == 0
    assert odd.count('class="off"') == 2
    assert "it got a new propeller on 2024-05" in stepped


def test_few_flights_are_shown_without_a_verdict_and_two_not_at_all(pages: Path) -> None:
    three = watch_part(pages / "C-04.html")
    assert "too few to tell" in three
    assert 'class="next-band"' not in three
    assert watch_part(pages / "C-05.html") == ""


@pytest.mark.long
def test_days_are_shown_where_they_may_be(season: Program, tmp_path: Path) -> None:
    season.output("publish", "--site", "--out", tmp_path, "--date", "2024-09-01", "--with-days")
    part = watch_part(tmp_path / "airframes" / "C-02.html")
    assert "between 2024-04-28 (flight 8) and 2024-05-05 (flight 9)" in part
    assert "X-C-02" not in part
