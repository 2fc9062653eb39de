"""What people read may be in mph or km/h, lb and m; JSON and CSV stay as their names state."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click
import pytest

from fleetcal.cli.shown_units import in_shown_units, shown_amount, shown_column
from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL, fleet_toml, points_csv
from tests.store_places import begun_at


@contextmanager
def units(speed: str = "kt", weight: str = "kg", height: str = "ft") -> Iterator[None]:
    """A command line on which these units were chosen."""
    with click.Context(click.Command("any")) as context:
        for name, unit in (("speed", speed), ("weight", weight), ("height", height)):
            context.meta[f"fleetcal.{name}_unit"] = unit
        yield


@pytest.mark.parametrize(
    ("text", "mph"),
    [
        ("reads 10.0 kt faster at 100 kt", "reads 11.5 mph faster at 115 mph"),
        ("from 50 to 80 kt IAS", "from 58 to 92 mph IAS"),
        ("at 60, 70 and 100 kt", "at 69, 81 and 115 mph"),
        ("3.10 ± 0.40 kt", "3.57 ± 0.46 mph"),
        ("known to ±0.50 kt", "known to ±0.58 mph"),
        ("+1.0 kt and -1.0 kt", "+1.2 mph and -1.2 mph"),
        ("differs by at least 2 kt", "differs by at least 2.3 mph"),
        ("point 69 (2022-07-22, 100 kt)", "point 69 (2022-07-22, 115 mph)"),
        ("C-07, 100 kt", "C-07, 115 mph"),
        ("sortie 12, 100 kt", "sortie 12, 115 mph"),
        ("090 (track 104, 100 kt)", "090 (track 104, 115 mph)"),
        ("at 81.0\n  kt", "at 93.2\n  mph"),
        ("ias_kt: IAS at the weight", "ias_mph: IAS at the weight"),
        ("1.0 kt too fast (0.9 to 2.1) at 100 kt", "1.2 mph too fast (1.0 to 2.4) at 115 mph"),
        ("1.7 kt too slow (1.0\n  to 2.3).", "2.0 mph too slow (1.2\n  to 2.6)."),
        ("at 100 kt (3 to 5 flights)", "at 115 mph (3 to 5 flights)"),
        ("gusts of 0.4 kt/s, 80 ft/min", "gusts of 0.4 kt/s, 80 ft/min"),
        ("Limit, never exceed: 127 kt. The book", "Limit, never exceed: 146 mph. The book"),
        ("Limit, flap limit: 84 kt", "Limit, flap limit: 96 mph"),
    ],
)
def test_every_speed_of_a_sentence_is_converted_and_nothing_else(text: str, mph: str) -> None:
    with units():
        assert in_shown_units(text) == text
    with units("mph"):
        assert in_shown_units(text) == mph


def test_weights_and_heights_have_units_of_their_own() -> None:
    text = "580 kg at 4500 ft, off by +12 ft, 14 kg/h"
    with units(weight="lb"):
        assert in_shown_units(text) == "1279 lb at 4500 ft, off by +12 ft, 14 kg/h"
    with units(height="m"):
        assert in_shown_units(text) == "580 kg at 1372 m, off by +3.7 m, 14 kg/h"
        assert shown_amount(1000.0, "ft") == "305 m"
        assert shown_column("dhpc_ft", signed=True).heading == "dhpc_m"


def test_a_limit_is_never_rounded_up() -> None:
    with units("km/h"):
        for kt in range(40, 200):
            shown = re.search(r"(\d+) km/h", in_shown_units(f"Limit, flap limit: {kt} kt"))
            assert shown is not None
            assert kt * 1.852 - 1.0 < int(shown[1]) <= kt * 1.852


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """A store with an invented fleet and its points."""
    folder: Path = tmp_path_factory.mktemp("units")
    (folder / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(), encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.mark.long
def test_a_table_is_converted_with_its_headings(program: Program) -> None:
    words = ("curve", TAIL)
    rows = json.loads(program.output(*words, "--format", "json"))["rows"]
    text = program.output(*words, "--speed-unit", "mph", "--weight-unit", "lb")
    assert not re.search(r"\bkt\b|_kt\b|\bkg\b", text.partition("Advisory")[0])
    lines = [one for one in text.splitlines() if re.match(r"\s*(?:mph|\d+\.\d) ", one)]
    units, *cells_shown = (one.replace(" to ", "_").split() for one in lines)
    assert units == ["mph"] * 5 + ["ft"]
    pairs = [(row, cells) for row, cells in zip(rows, cells_shown, strict=True) if row["cas_kt"]]
    assert len(pairs) > 3
    for row, cells in pairs:
        assert float(cells[0]) == pytest.approx(row["ias_kt"] * 1852 / 1609.344, abs=0.06)
        assert float(cells[4]) == pytest.approx(row["cas_kt"] * 1852 / 1609.344, abs=0.06)


@pytest.mark.long
@pytest.mark.parametrize("form", ["json", "csv"])
def test_json_and_csv_keep_the_units_that_their_names_state(program: Program, form: str) -> None:
    words = ("curve", TAIL, "--format", form)
    assert program.output(*words, "--speed-unit", "mph") == program.output(*words)


@pytest.mark.long
def test_a_published_table_is_in_the_unit_of_the_environment_too(
    program: Program, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("publish", TAIL, "--date", "2026-05-01", "--formats", "csv", "--out")
    program.output(*words, tmp_path / "named", "--speed-unit", "mph")
    monkeypatch.setenv("FLEETCAL_SPEED_UNIT", "mph")
    program.output(*words, tmp_path / "meant")
    named, meant = (next((tmp_path / one).iterdir()).read_text() for one in ("named", "meant"))
    assert named == meant
    assert "mph" in meant
