"""Climbs and glides on the site say what the command line says, and stand nowhere without any."""

from __future__ import annotations

import html
import re
from pathlib import Path

import numpy as np
import pytest

from fleetcal.store import open_store
from tests.cli.command_line import Program
from tests.cli.invented_cruise import FLEET, flown
from tests.cli.invented_fleet import WING, Group, fleet_toml
from tests.cli.invented_glides import GLIDE, log_text
from tests.store_places import begun_at
from tests.web.served import served

pytestmark = pytest.mark.long

TAGS = ("C-01", "C-02", "C-03", "C-04")
HEADINGS = "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"


def words(page: Path) -> str:
    text = re.sub(r"<(style|script).*?</\1>", "", page.read_text(encoding="utf-8"), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", text)).replace("\u00a0", " ").split())


def first_sentences(text: str) -> list[str]:
    """The answer that the command line prints above its table."""
    return re.findall(r"[^.]*\.", " ".join(text.split("\n\n")[0].split()))


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """Four airframes with points of position error and a flight of glides each."""
    folder = tmp_path_factory.mktemp("glides")
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml((Group(WING, 4, 0.0, 0.0),)), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    rng = np.random.default_rng(3)
    lines = [HEADINGS]
    for tag in TAGS:
        for speed in (50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0):
            lines.append(f"{tag},2024-04-01,a,600,{speed},3000,{rng.normal(0.02, 0.004):.5f},0.005")
    (folder / "points.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    program.output("points", "import", folder / "points.csv")
    for number, tag in enumerate(TAGS):
        log = folder / f"{tag}.csv"
        text = log_text(GLIDE, speeds_kt=(52.0, 62.0, 74.0, 88.0, 100.0), more=0.0, seed=number)
        log.write_text(text, encoding="utf-8")
        glide = ("--quantity", "glide", "--power-state", "idle", "--weight-kg", "600")
        program.output("reduce", log, "--airframe", tag, *glide)
    return program


@pytest.fixture(scope="module")
def site(program: Program, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    program.output("publish", "--site", "--out", folder)
    return folder


def test_the_page_of_a_type_says_what_the_command_line_says(program: Program, site: Path) -> None:
    (page,) = (site / "climbs").iterdir()
    text = words(page)
    answer = first_sentences(program.output("curve", "--quantity", "glide"))
    assert len(answer) == 2
    for sentence in answer:
        assert sentence.strip() in text
    found = program.json("curve", "--quantity", "glide")
    for row in found["rows"]:
        shown = f"{row['cas_kt']:.0f} {row['ias_kt']:.0f} {row['rate_ftmin']:+.0f}"
        assert shown.replace("-", "\u2212") in text
    for tag in TAGS:
        assert f'href="../airframes/{tag}.html"' in page.read_text(encoding="utf-8")
    assert f'href="climbs/{page.name}"' in (site / "index.html").read_text(encoding="utf-8")


def test_the_page_of_an_airframe_says_what_its_own_glides_say(program: Program, site: Path) -> None:
    page = site / "airframes" / "C-02.html"
    text = words(page)
    answer = first_sentences(program.output("curve", "C-02", "--quantity", "glide"))
    assert len(answer) == 2
    for sentence in answer:
        assert sentence.strip() in text
    assert 'href="../climbs/' in page.read_text(encoding="utf-8")


def test_the_served_page_of_a_type_is_that_of_the_site(program: Program, site: Path) -> None:
    (page,) = (site / "climbs").iterdir()
    with open_store(program.store) as store, served(store) as pages:
        answer = pages.get(f"climbs/{page.name}")
    assert answer.status_code == 200
    text = answer.get_data(as_text=True)
    for sentence in first_sentences(program.output("curve", "--quantity", "glide")):
        assert sentence.strip() in text


def test_the_weight_of_the_tables_changes_no_own_glide(program: Program, tmp_path: Path) -> None:
    program.output("publish", "--site", "--out", tmp_path, "--weight-kg", "520")
    text = words(tmp_path / "airframes" / "C-02.html")
    answer = first_sentences(program.output("curve", "C-02", "--quantity", "glide"))
    assert all(sentence.strip() in text for sentence in answer)


def test_cruise_stands_there_where_powers_were_noted(tmp_path: Path) -> None:
    (tmp_path / "fleet.toml").write_text(fleet_toml(FLEET), encoding="utf-8")
    points, powers = flown()
    (tmp_path / "points.csv").write_text(points, encoding="utf-8")
    (tmp_path / "powers.csv").write_text(powers, encoding="utf-8")
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    program.output("power", "--file", tmp_path / "powers.csv")
    program.output("publish", "--site", "--out", tmp_path / "site")
    (page,) = (tmp_path / "site" / "climbs").iterdir()
    (answer,) = first_sentences(program.output("curve", "--quantity", "cruise"))
    text = words(page)
    assert answer.strip() in text
    lines = program.json("curve", "--quantity", "cruise")["lines"]
    known = [line for line in lines if line["mean_low_kt"] is not None]
    assert len(known) > 3
    for line in known:
        shown = f"{line['power_pct']:.0f} {line['pressure_altitude_ft']:.0f} 600"
        speeds = f"{line['tas_kt']:.0f} {line['mean_low_kt']:.0f} to {line['mean_high_kt']:.0f}"
        assert f"{shown} {speeds}" in text
    (own,) = first_sentences(program.output("curve", "C-02", "--quantity", "cruise"))
    assert own.strip() in words(tmp_path / "site" / "airframes" / "C-02.html")


def test_a_store_without_climbs_has_no_page_and_no_word_of_them(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    (tmp_path / "fleet.toml").write_text(fleet_toml((Group(WING, 4, 0.0, 0.0),)), encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    lines = [f"{tag},2024-04-01,a,600,80,3000,0.02,0.005" for tag in TAGS]
    (tmp_path / "points.csv").write_text("\n".join([HEADINGS, *lines]) + "\n", encoding="utf-8")
    program.output("points", "import", tmp_path / "points.csv")
    program.output("publish", "--site", "--out", tmp_path / "site")
    assert not (tmp_path / "site" / "climbs").exists()
    assert "Climbs, glides" not in words(tmp_path / "site" / "index.html")
    assert "Climbs, glides" not in words(tmp_path / "site" / "airframes" / "C-01.html")
