"""Fleets too small, too poor or wrong, through the commands: a sound answer or a clear refusal."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_fleet import TAIL
from tests.cli.poor_fleets import (
    BEFORE,
    COMMANDS,
    FIRST,
    HEADINGS,
    SCENARIOS,
    points_of,
    poor_fleet,
)

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

CASES = [(name, command) for name in SCENARIOS for command in COMMANDS]


@pytest.fixture(scope="module")
def stores(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Program]:
    """A store for each scenario."""
    found = {}
    for name, (points, _) in SCENARIOS.items():
        folder = tmp_path_factory.mktemp("poor")
        program = poor_fleet(folder)
        (folder / "points.csv").write_text(HEADINGS + points, encoding="utf-8")
        program.output("points", "import", folder / "points.csv")
        found[name] = program
    return found


def _numbers(found: Any) -> Iterable[float]:
    """Return every number of a result, however deep."""
    if isinstance(found, dict):
        found = list(found.values())
    if isinstance(found, list):
        for inner in found:
            yield from _numbers(inner)
    elif isinstance(found, float):
        yield found


def _assert_sound_curve(found: dict[str, Any]) -> None:
    for row in found["rows"]:
        if row["correction_kt"] is None:
            assert row["airframes"] == 0
            assert row["note"]
            continue
        bounds = ("next_low_kt", "mean_low_kt", "correction_kt", "mean_high_kt", "next_high_kt")
        values = [row[name] for name in bounds]
        assert values == sorted(values)
        assert values[0] < values[-1]
        # truth is 0.03 + 0.05*(s - 0.25) give or take 0.01: 0.3 to 3 kt
        assert 0.0 < row["correction_kt"] < 4.0
        assert (row["airframes"] >= 3) is (row["note"] == "")
        if row["airframes"] < 3:  # the mean of all lies within 1.0 to 1.9 kt
            assert row["mean_high_kt"] - row["mean_low_kt"] > 1.0
            assert row["mean_low_kt"] < 1.9
            assert row["mean_high_kt"] > 1.0
        assert row["next_high_kt"] - row["next_low_kt"] < 12.0


def _assert_sound_verdicts(found: dict[str, Any]) -> None:
    assert found["airframes"]
    for told in found["airframes"]:
        assert not told["outside"]  # nobody is, in any scenario
        if told["p_value"] is None:
            assert told["verdict"] == "undecided"
            assert told["others"] < 3
            assert told["rows"] == []
            continue
        assert told["others"] >= 3
        assert 0.0 < told["p_value"] <= told["adjusted_p_value"] <= 1.0
        for row in told["rows"]:
            assert row["low_kt"] < row["departure_kt"] < row["high_kt"]


def _assert_sound_comparison(found: dict[str, Any]) -> None:
    assert 0.0 <= found["p_value"] <= 1.0
    assert found["differ"] is (found["p_value"] < 0.05)
    assert found["rows"]
    for row in found["rows"]:
        assert row["low_kt"] < row["difference_kt"] < row["high_kt"]
        assert row["smallest_shown_kt"] > 0.0
    # a difference that shows must show at a speed
    if found["p_value"] < 0.001:
        assert any(row["low_kt"] > 0.0 or row["high_kt"] < 0.0 for row in found["rows"])


@pytest.mark.parametrize(("scenario", "command"), CASES, ids=lambda text: text.replace(" ", "-"))
def test_every_command_gives_a_sound_answer_or_refuses(
    scenario: str, command: str, stores: dict[str, Program]
) -> None:
    program, refused = stores[scenario], SCENARIOS[scenario][1]
    if command in refused:
        assert_explained(program.run(*COMMANDS[command]), 5)
        return
    found = program.json(*COMMANDS[command])
    assert all(math.isfinite(value) for value in _numbers(found))
    if command == "curve":
        _assert_sound_curve(found)
    elif command in ("standing", "outliers"):
        _assert_sound_verdicts(found)
    else:
        _assert_sound_comparison(found)


@pytest.mark.long
@pytest.mark.parametrize("scenario", SCENARIOS)
def test_a_page_is_published_whole_or_not_at_all(
    scenario: str, stores: dict[str, Program], tmp_path: Path
) -> None:
    pages = tmp_path / "pages"
    result = stores[scenario].run("publish", TAIL, "--out", pages, "--date", "2024-09-01")
    if "publish" in SCENARIOS[scenario][1]:
        assert_explained(result, 5)
        assert not pages.exists()
        return
    assert result.exit_code == 0, result.stderr
    written = folder_content(pages)
    assert {".csv", ".html"} <= {Path(name).suffix for name in written}
    for name, content in written.items():
        if Path(name).suffix in (".csv", ".html", ".svg", ".json", ".md"):
            words = re.findall(
                r"(?<![\w-])[-+]?(?:nan|inf|infinity)(?![\w-])", content.decode(), re.I
            )
            assert words == [], name


def test_points_at_one_speed_have_a_curve_at_that_speed_alone(stores: dict[str, Program]) -> None:
    program = stores["all points at one speed"]
    found = program.json("curve", TAIL)
    assert found["order"] == 0
    assert [row["ias_kt"] for row in found["rows"] if row["correction_kt"] is not None] == [95.0]
    for order in ("1", "2"):
        refused = program.run("curve", TAIL, "--order", order)
        assert_explained(refused, 5, "too few different speeds")


def test_identical_points_differ_in_nothing(stores: dict[str, Program]) -> None:
    program = stores["identical points"]
    # kappa 0.03 at every speed: sqrt(1 + 0.03) - 1 of the airspeed, by low-speed aerodynamics
    for row in program.json("curve", TAIL)["rows"]:
        slow = (math.sqrt(1.03) - 1.0) * row["ias_kt"]
        assert row["correction_kt"] == pytest.approx(slow, rel=0.01)
        # 60 points of u 0.007, parts of 0.004 shared by sorties: never surer than that
        assert row["mean_high_kt"] - row["mean_low_kt"] > 0.5 * 0.003 * row["ias_kt"]
    for command in ("change", "contrast"):
        found = program.json(*COMMANDS[command])
        assert found["differ"] is False
        assert found["p_value"] > 0.99
        assert all(abs(row["difference_kt"]) < 1e-6 for row in found["rows"])


def test_a_single_point_each_leaves_speeds_that_nobody_flew_without_a_number(
    stores: dict[str, Program],
) -> None:
    found = stores["a single point each"].json("curve", TAIL)
    told = {row["ias_kt"]: row for row in found["rows"] if row["correction_kt"] is not None}
    assert list(told) == [65.0, 80.0, 95.0, 110.0, 125.0]
    assert "flown by 2 airframes only" in told[65.0]["note"]


def test_a_single_point_is_judged_at_its_own_speed(stores: dict[str, Program]) -> None:
    (told,) = stores["a single point of one"].json("standing", "C-02")["airframes"]
    assert told["points"] == 1
    assert [row["ias_kt"] for row in told["rows"]] == [95.0]


def test_speeds_that_one_airframe_flew_alone_have_wider_bands(stores: dict[str, Program]) -> None:
    for order in ("0", "1"):
        found = stores["only one airframe at other speeds"].json("curve", TAIL, "--order", order)
        width = {row["ias_kt"]: row["mean_high_kt"] - row["mean_low_kt"] for row in found["rows"]}
        others = [width[speed] for speed in (65.0, 80.0, 110.0, 125.0)]
        assert min(others) > 1.5 * width[95.0]


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ("0.03,0,0", "u_kappa"),
        ("0.03,-0.007,0", "u_kappa"),
        ("0.03,nan,0", "u_kappa"),
        ("0.03,inf,0", "u_kappa"),
        ("0.03,0.007,0.007", "u_shared_kappa"),
        ("nan,0.007,0.004", "kappa"),
        ("1.6,0.007,0.004", "kappa"),
    ],
)
def test_a_point_without_a_sound_value_is_not_taken_in(
    cells: str, column: str, tmp_path: Path
) -> None:
    program = poor_fleet(tmp_path)
    (tmp_path / "points.csv").write_text(
        HEADINGS + points_of(FIRST) + f"C-03,{BEFORE},z,600,95,3500,{cells}\n", encoding="utf-8"
    )
    before = folder_content(tmp_path)
    refused = program.run("points", "import", tmp_path / "points.csv")
    assert_explained(refused, 34, "points.csv", "line 62", f"column {column}:")
    assert folder_content(tmp_path) == before
