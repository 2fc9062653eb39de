"""The whole demonstration through the real commands: what was planted is found, the truth met."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from seed_demo.__main__ import main as demonstrate
from seed_demo.commands import STORE_VARIABLE, run, store_at
from seed_demo.walk import Outcome
from tests.seed_demo.demonstration import Demonstration, demonstration
from tests.seed_demo.sentences import Said, faults_of_file, faults_of_output

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demonstration:
    return demonstration(tmp_path_factory)


@pytest.fixture
def folder(demo: Demonstration) -> Path:
    return demo.folder


@pytest.fixture
def said(demo: Demonstration) -> Said:
    return demo.said


@pytest.fixture
def outcome(demo: Demonstration) -> Outcome:
    return demo.outcome


def test_every_planted_fault_is_flagged_and_nobody_else(outcome: Outcome) -> None:
    assert len(outcome.flags.planted) == 2
    assert outcome.flags.missed == ()
    assert outcome.flags.wrongly_flagged == ()


def test_the_truth_lies_in_the_bands_of_the_pooled_curves(outcome: Outcome) -> None:
    assert len(outcome.curves) == 12
    assert all(check.found_kt is not None for check in outcome.curves)
    # Twelve bands of 95 %, the three of one group nearly one event: a whole group outside
    # happens in one fleet of five, two groups in one of seventy.
    assert sum(check.inside for check in outcome.curves) >= 9


def test_pooled_curves_are_near_the_truth(outcome: Outcome) -> None:
    # 26 airframes with a spread of 0.6 kt at 100 kt, five to eight a group: 0.3 kt expected.
    for check in outcome.curves:
        assert check.found_kt == pytest.approx(check.true_kt, abs=1.0)


def test_a_page_a_table_and_a_figure_are_written_for_every_group(folder: Path) -> None:
    for ending in ("html", "csv", "svg"):
        assert len(list((folder / "pages").glob(f"*.{ending}"))) == 4


def test_the_planted_handbook_is_found_out(outcome: Outcome) -> None:
    assert len(outcome.handbook) == 12
    for check in outcome.handbook:
        assert check.found_kt == pytest.approx(check.true_kt, abs=1.0)
    assert max(abs(check.true_kt) for check in outcome.handbook) > 8.0
    assert sum(check.inside for check in outcome.handbook) >= 9


def test_best_speeds_of_climb_and_glide_are_near_the_truth(outcome: Outcome) -> None:
    found = outcome.performance
    assert len(found.speeds) == len(found.handbook) == 10
    for check in (*found.speeds, *found.handbook):
        assert check.found == pytest.approx(check.true, abs=3.0)
    # Ten intervals of 95 %, two of each curve nearly one event.
    assert sum(check.inside for check in found.speeds) >= 7
    assert sum(check.inside for check in found.handbook) >= 7


def test_rates_of_climb_and_sink_are_near_the_truth(outcome: Outcome) -> None:
    assert len(outcome.performance.rates) == 15
    for check in outcome.performance.rates:
        # Airframes differ by 40 ft/min in power alone; five or six a pairing.
        if check.found is not None:
            assert check.found == pytest.approx(check.true, abs=70.0)
    assert sum(check.inside for check in outcome.performance.rates) >= 11


def test_the_coordinator_has_what_two_owners_shared_once(folder: Path) -> None:
    with store_at(folder / "coordinator.store"):
        points = json.loads(run("points", "list", "--format", "json"))["points"]
    assert {point["airframe"] for point in points} == {"C-01", "C-20"}
    assert len({point["point_id"] for point in points}) == len(points)


def test_the_site_and_both_issues_are_there(folder: Path) -> None:
    count = {path.name: len(list(path.iterdir())) for path in (folder / "site").glob("*s")}
    assert count["groups"] == 4
    assert count["airframes"] == 26
    assert count["sorties"] > 45
    first, again = (
        next((folder / "issues" / name).glob("*.html")).read_bytes() for name in ("1", "1 again")
    )
    assert first == again
    assert b"WITHDRAWN" in first


def test_reasons_of_rejected_points_stay_in_the_store(folder: Path) -> None:
    with store_at(folder / "corrie.store"):
        points = json.loads(run("points", "list", "--rejected", "--format", "json"))["points"]
    assert {point["airframe"] for point in points} == {"C-05", "C-24"}
    assert all(point["reason"].startswith("found on the bench") for point in points)


def test_a_failing_command_ends_the_demonstration_with_its_own_code(folder: Path) -> None:
    before = os.environ.get(STORE_VARIABLE)
    with store_at(folder / "corrie.store"), pytest.raises(SystemExit) as end:
        run("standing", "C-99")
    assert end.value.code == 35
    assert os.environ.get(STORE_VARIABLE) == before


def test_what_commands_print_has_no_fault_of_wording(said: Said) -> None:
    assert len(said.outputs) > 80
    assert [fault for one in said.outputs for fault in faults_of_output(*one)] == []


def test_what_is_published_has_no_fault_of_wording(folder: Path) -> None:
    files = [
        path
        for place in ("pages", "issues", "site")
        for path in sorted((folder / place).rglob("*"))
        if path.suffix in (".html", ".csv", ".json", ".md")
    ]
    assert len(files) > 100
    assert [fault for path in files for fault in faults_of_file(path)] == []


@pytest.mark.parametrize(
    "text",
    [
        "reads -0.0 kt",
        "by −0.00 kt at 70 kt",
        '  "u": -0.0,',
        "flown by 1 airframes only",
        "1 climbs or glides accepted",
        "would depart with a chance of 3 %, allowing for all that were judged",
        "with a chance of nearly one",
        "compared with {others} others",
        "the value is None",
        "ends twice..",
        "handbook less ours",
        "0 of those shown outside",
        "two  blanks in a sentence.",
    ],
)
def test_each_fault_of_wording_would_be_found(text: str) -> None:
    assert list(faults_of_output(("curve",), text))


def test_a_caution_of_airspeeds_under_a_rate_would_be_found() -> None:
    caution = "The pitot pressure is taken as free of error, so what."
    assert list(faults_of_output(("standing", "C-07", "--quantity", "glide"), caution))
    assert not list(faults_of_output(("standing", "C-07"), caution))


def test_the_files_alone_can_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert demonstrate([str(tmp_path), "--files-only"]) == 0
    assert "flights of an invented fleet" in capsys.readouterr().out
    assert (tmp_path / "fleet.toml").exists()
    assert not (tmp_path / "corrie.store").exists()
