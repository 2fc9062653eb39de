"""Every command of README and the manual is run, in order, where the demonstration's files are.

A text stands in a fresh clone: ``demo`` is the demonstration's folder, and so is the place itself.
"""

from __future__ import annotations

import re
import shlex
import shutil
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import seed_demo
from fleetcal.cli import main
from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES
from tests.airdata.simulations.ordinary import ORDINARY_DAY, ordinary_flights
from tests.airdata.simulations.season import FIRST_DAY
from tests.airdata.simulations.season import log_text as ordinary_text
from tests.cli.command_line import Program
from tests.cli.documents import PAPERS, TOPICS, blocks, console_lines
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_glides import CLIMB, GLIDE
from tests.cli.invented_glides import log_text as climb_text
from tests.cli.invented_sortie import Card, Sortie, Truth, fly, log_text
from tests.seed_demo.demonstration import demonstration
from tests.store_places import begun_at

pytestmark = [pytest.mark.long, pytest.mark.file_store("the demonstration's store is a file")]

FIRST_HOURS = Path(seed_demo.__file__).parent / "first-hours"
SHOP = FIRST_HOURS.parent / "shop"
# Run elsewhere: on a real server, and by whoever sets up.
ELSEWHERE = {"server"}
STORE = "export FLEETCAL_STORE="
SETTING_UP = (
    "python3 -m venv .venv",
    ".venv/bin/p",
    ". .venv/bin/activate",
)
KEY = "1a2b3c4d" * 8  # in the place of those that a text shows in short
TEXTS = {"README": PAPERS["README"], **TOPICS}
SHOWING_HOW = [
    name
    for name, text in TEXTS.items()
    if name not in ELSEWHERE and (console_lines(text) or blocks(text, "python"))
]


def flown(seed: int) -> Sortie:
    return fly(
        Card(airspeeds_kt=(70.0, 85.0, 100.0, 120.0)), Truth(roughness=1.0, kappa=0.03), seed=seed
    )


def ordinary_texts() -> dict[str, str]:
    """Logs of ordinary flights, and of one whose heading is logged too."""
    (airframe,) = ordinary_flights(ORDINARY_DAY, 1, 3, 4)
    sunday, monday, tuesday = (
        ordinary_text(flight.log, FIRST_DAY + timedelta(days=day))
        for day, flight in enumerate(airframe.flights)
    )
    log, truth = airframe.flights[0].log, airframe.flights[0].truth
    nose = np.arctan2(log.east_mps - truth.calm_east_mps, log.north_mps - truth.calm_north_mps)
    columns = ["heading (deg)", *(f"{deg:.1f}" for deg in np.degrees(nose) % 360.0)]
    turning = (",".join(row) for row in zip(sunday.splitlines(), columns, strict=True))
    return {
        "sunday.csv": sunday,
        "season/monday.csv": monday,
        "season/tuesday.csv": tuesday,
        "turning.csv": "\n".join(turning),
    }


def write_files(folder: Path) -> None:
    """Write the files that the texts name and the demonstration does not write."""
    powered = flown(2)
    share_of_power = {"engine power (%)": np.round(0.6 * powered.ias_kt)}
    texts = {
        **ordinary_texts(),
        "flight.csv": log_text(flown(1)),
        "copy.csv": log_text(flown(7)),
        "better.csv": log_text(flown(7)) + "\n",
        "powered.csv": log_text(powered, more=share_of_power),
        "new-logs/monday.csv": log_text(flown(3)),
        "new-logs/tuesday.csv": log_text(flown(4)),
        "flights.csv": "file,airframe,weight_kg\nmonday.csv,C-07,580\ntuesday.csv,C-07,590\n",
        "saw.csv": climb_text(CLIMB, seed=5),
        "glide.csv": climb_text(GLIDE, seed=6),
        "legs-by-hand.csv": leg_sheet(),
        "table.csv": "ias_kt,cas_kt\n50,60\n70,76\n90,90\n110,106\n130,121\n140,130\n",
        "speeds.csv": "speed,ias_kt\nstall,55\nflap limit,82\n",
        "indicator.csv": "indicated_kt,correction_kt\n60,0.5\n120,-1.5\n",
        "altimeter.csv": "indicated_ft,correction_ft\n0,10\n8000,-20\n",
        "pace.csv": TECHNIQUE_FILES["pace-aircraft"].example,
        "course.csv": TECHNIQUE_FILES["speed-course"].example,
    }
    for inner in ("new-logs", "season"):
        (folder / inner).mkdir()
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    other = Program(str(folder / "theirs.store"))
    other.output("fleet", "load", folder / "fleet.toml")
    other.output("share", "--out", folder / "theirs.json")


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demonstration's folder with the files that the texts name besides."""
    folder = tmp_path_factory.mktemp("prepared") / "demo"
    shutil.copytree(demonstration(tmp_path_factory).folder, folder)
    write_files(folder)
    for shipped in (FIRST_HOURS, SHOP):
        shutil.copytree(shipped, folder / "seed_demo" / shipped.name)
    (folder / "demo").symlink_to(folder)
    return folder


@pytest.mark.parametrize("name", SHOWING_HOW)
def test_every_command_does_what_the_text_says(
    name: str, prepared: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(prepared, folder, symlinks=True)
    (folder / "demo").unlink()
    (folder / "demo").symlink_to(folder)
    monkeypatch.chdir(folder)
    monkeypatch.setenv("FLEETCAL_STORE", "corrie.store")
    monkeypatch.setattr("click.launch", lambda *_, **__: 0)  # opens no browser
    monkeypatch.setenv("FLEETCAL_PREFERENCES", str(tmp_path / "preferences.toml"))
    for line in console_lines(TEXTS[name]):
        if line.startswith(STORE):
            monkeypatch.setenv("FLEETCAL_STORE", line.removeprefix(STORE))
        elif not line.startswith(SETTING_UP):
            run(line)
    for code in blocks(TEXTS[name], "python"):
        exec(code, {})


def test_the_answer_on_the_front_page_is_the_one_that_is_printed(tmp_path: Path) -> None:
    (shown,) = blocks(TEXTS["README"], "text")
    flight = FIRST_HOURS / "flight-1.csv"
    printed = Program(str(tmp_path / "none.store")).output("reduce", flight)
    assert " ".join(printed.split()).startswith(" ".join(shown.split()))


def words_in(picture: Path) -> list[str]:
    """Return every text of an SVG picture."""
    return re.findall(r"<text[^>]*>([^<]*)</text>", picture.read_text(encoding="utf-8"))


def test_the_pictures_on_the_front_page_are_what_its_commands_draw(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "mine.store"))
    for flight in ("flight-1.csv", "flight-2.csv", "flight-3.csv"):
        log = FIRST_HOURS / flight
        program.output("reduce", log, "--airframe", "F-01", "--new-airframe")
    program.output("reduce", FIRST_HOURS / "flight-1.csv", "--out", tmp_path / "flight-1.svg")
    (described,) = (line for line in console_lines(TEXTS["README"]) if "fleet airframe" in line)
    program.output(*shlex.split(described)[1:])
    program.output("publish", "F-01", "--out", tmp_path / "mine", "--formats", "svg")
    (curve,) = (tmp_path / "mine").glob("*.svg")
    for drawn, shown in ((tmp_path / "flight-1.svg", "flight-1.svg"), (curve, "F-01.svg")):
        assert words_in(drawn) == words_in(FIRST_HOURS.parent / "pictures" / shown)
        assert len(words_in(drawn)) > 20


def run(line: str) -> None:
    """Run a command line as a shell would, with what it prints in a file where it says so."""
    program, *words = shlex.split(re.sub(r"--key [\w-]+", f"--key {KEY}", line))
    assert program == "fleetcal", line
    end = words.index(">") if ">" in words else len(words)
    result = CliRunner().invoke(main, words[:end], prog_name="fleetcal")
    assert result.exit_code == 0, (line, result.output, result.exception)
    if end < len(words):
        Path(words[end + 1]).write_text(result.stdout, encoding="utf-8")
