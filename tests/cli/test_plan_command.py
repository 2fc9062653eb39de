"""The plan of the next flight, on an invented fleet."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import MID, WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

FLEET = (Group(WING, 6, 0.04, -0.12),)
LIMITS = "stall_speed_clean_kt = 46.0\nmanoeuvring_speed_kt = 95.0\nnever_exceed_kt = 141.0\n"


def with_limits(described: str, limits: str = LIMITS) -> str:
    return described.replace("scaling_speed_kt", f"{limits}scaling_speed_kt", 1)


@pytest.fixture(scope="module")
def slow_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Six airframes over all speeds; of C-01 only the slow points are left."""
    folder = tmp_path_factory.mktemp("planned")
    described = with_limits(fleet_toml(FLEET))
    (folder / "fleet.toml").write_text(described, encoding="utf-8")
    head, *lines = points_csv(FLEET).splitlines()
    lines = [x for x in lines if not x.startswith("C-01") or float(x.split(",")[4]) < 85.0]
    (folder / "points.csv").write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program.store


@pytest.fixture
def slow(slow_file: str) -> Program:
    return Program(slow_file)


def test_an_airframe_that_flew_slow_is_sent_to_fly_fast(slow: Program) -> None:
    plan = slow.json("plan", "C-01")
    assert plan["runs"][0]["ias_kt"] >= 110.0
    assert sum(run["repeats"] for run in plan["runs"]) == 4
    after, equal = plan["largest_after_kt"], plan["largest_equal_kt"]
    assert after <= equal < plan["largest_before_kt"]
    assert all(run["after_kt"] < run["before_kt"] for run in plan["runs"])


@pytest.mark.long
def test_no_speed_is_proposed_near_the_stall_or_beyond_what_was_flown(slow: Program) -> None:
    for tag in ("C-01", "C-04"):
        plan = slow.json("plan", tag, "--points", "12")
        speeds = [run["ias_kt"] for run in plan["runs"]]
        assert min(speeds) >= 1.3 * 46.0
        assert max(speeds) <= 0.9 * 141.0
        # multiples of 5 kt up to 126.9 kt, and 59.8 kt rounded up
        assert (plan["fastest_kt"], plan["slowest_kt"]) == (125.0, 60.0)
        assert all(run["smooth_air_only"] == (run["ias_kt"] > 95.0) for run in plan["runs"])


@pytest.mark.long
def test_more_runs_promise_narrower_bands(slow: Program) -> None:
    widths = [slow.json("plan", "C-01", "--points", n)["largest_after_kt"] for n in (1, 2, 4, 8)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.8 * widths[0]


def test_the_card_can_be_read_and_carries_the_caution(slow: Program) -> None:
    said = slow.output("plan", "C-01", "--wind-from-deg", "240", "--wind-kt", "20")
    (run,) = [line for line in said.splitlines() if line.startswith("  125 kt: ")]
    headings = [part.split()[0] for part in run.removeprefix("  125 kt: ").split("; ")]
    assert headings == ["240", "330", "060", "150"]
    assert "The order of the headings alternates from run to run" in said
    assert "240 (track 240, 113 kt)" in run  # 132.6 kt true airspeed at 4000 ft
    assert "060 (track 060, 153 kt)" in run
    assert "above the manoeuvring speed: in smooth air only" in said
    assert "Advisory only" in said
    assert "Stop for weather" in said


@pytest.mark.long
def test_an_airframe_without_points_is_planned_from_its_group(
    slow_file: str, tmp_path: Path
) -> None:
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    more = (Group(WING, 7, 0.04, -0.12),)
    (tmp_path / "fleet.toml").write_text(with_limits(fleet_toml(more)), encoding="utf-8")
    points = [x for x in points_csv(more).splitlines() if not x.startswith("C-07")]
    (tmp_path / "points.csv").write_text("\n".join(points) + "\n", encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    plan = program.json("plan", "C-07", "--points", "2")
    assert any("C-07 has no accepted point" in note for note in plan["notes"])
    flown = program.json("plan", "C-02", "--points", "2")
    assert plan["largest_before_kt"] > 1.5 * flown["largest_before_kt"]


def test_what_cannot_be_planned_is_explained(slow: Program, program: Program) -> None:
    assert_explained(slow.run("plan", "C-99"), 35, "C-99")
    assert_explained(program.run("plan", "C-03", "--question", "standing"), 5, "3 airframes")
    assert_explained(program.run("plan", "C-03"), 3, "no stall speed of the Corrie 2")


def test_the_reduction_is_larger_than_that_of_points_equally_spaced(slow: Program) -> None:
    plan = slow.json("plan", "C-01", "--points", "3")
    before = plan["largest_before_kt"]
    even = before - plan["largest_equal_kt"]
    assert plan["gain"] == pytest.approx((before - plan["largest_after_kt"]) / even)
    assert plan["gain"] > 1.1


def test_runs_are_flown_from_fast_to_slow_and_told_by_how_much_they_help(slow: Program) -> None:
    runs = slow.json("plan", "C-04", "--points", "4")["runs"]
    speeds = [run["ias_kt"] for run in runs]
    assert speeds == sorted(speeds, reverse=True)
    assert sorted(run["helps"] for run in runs) == list(range(1, len(runs) + 1))


def test_nothing_above_the_manoeuvring_speed_is_proposed_for_rough_air(slow: Program) -> None:
    plan = slow.json("plan", "C-01", "--rough-air", "--weight-kg", "540")
    assert max(run["ias_kt"] for run in plan["runs"]) <= 95.0 * (540.0 / 600.0) ** 0.5
    assert not any(run["smooth_air_only"] for run in plan["runs"])


def own_store(folder: Path, described: str) -> Program:
    """The program on a store of its own with the points of the fleet."""
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(described, encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(FLEET), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.mark.long
@pytest.mark.parametrize(("last_kt", "reaches"), [(140, True), (100, False)])
def test_the_indicator_s_own_correction_changes_what_is_to_be_read(
    last_kt: int, reaches: bool, tmp_path: Path
) -> None:
    program = own_store(tmp_path, with_limits(fleet_toml(FLEET)))
    lines = f"indicated_kt,correction_kt\n40,-3\n{last_kt},-3\n"
    (tmp_path / "check.csv").write_text(lines, encoding="utf-8")
    before = program.json("plan", "C-01", "--points", "2")
    check = ("bench", "enter", "airspeed", tmp_path / "check.csv", "--airframe", "C-01")
    program.output(*check, "--date", "2024-05-01", "--u-kt", "0.5")
    after = program.json("plan", "C-01", "--points", "2")
    pairs = zip(after["runs"], before["runs"], strict=True)
    assert all(run["ias_kt"] - 3.0 == plain["ias_kt"] for run, plain in pairs)
    assert any("no bench check of the airspeed indicator" in note for note in before["notes"])
    assert any("what the indicator shows, checked 2024-05-01" in note for note in after["notes"])
    beyond = [note for note in after["notes"] if "beyond that its end value" in note]
    assert len(beyond) == (not reaches)
    speeds = [run["ias_kt"] for run in before["runs"]]
    read = f"reaches from 40 to 100 kt, readings from {min(speeds):.0f} to {max(speeds):.0f} kt"
    assert all(read in note for note in beyond)


@pytest.mark.long
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_test_card_is_one_page_with_the_plan_on_it(
    slow: Program, tmp_path: Path, paper: str
) -> None:
    words = ("plan", "C-01", "--wind-from-deg", "240", "--wind-kt", "20", "--points", "6")
    for ending in ("pdf", "html", "txt"):
        slow.output(*words, "--paper", paper, "--out", tmp_path / f"card.{ending}")
    made = (tmp_path / "card.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b(?!s)", made)) == 1
    plan = slow.json(*words)
    for ending in ("html", "txt"):
        told = (tmp_path / f"card.{ending}").read_text(encoding="utf-8")
        for run in plan["runs"]:
            assert str(round(run["ias_kt"])) in told
        for said in ("C-01", "1013 hPa", "4000 ft", "STOP", "advisory information", "Not below 60"):
            assert said in told, said


@pytest.mark.long
@pytest.mark.parametrize("question", ["standing", "change"])
def test_more_sorties_settle_a_question_with_a_better_chance(slow: Program, question: str) -> None:
    plan = slow.json("plan", "C-01", "--question", question, "--points", "3")
    rows = plan["outlook"]["rows"]
    assert [row["sorties"] for row in rows] == list(range(1, 13))
    chances = [row["settled_percent"] for row in rows]
    assert all(0.0 <= row["shown_percent"] <= row["settled_percent"] <= 100.0 for row in rows)
    assert chances[-1] >= chances[0] - 5.0
    assert chances[-1] > 80.0


@pytest.mark.long
def test_what_is_known_now_of_a_standing_is_that_of_the_verdict(slow: Program) -> None:
    (mine,) = slow.json("standing", "C-04")["airframes"]
    now = slow.json("plan", "C-04", "--question", "standing", "--points", "3")["outlook"]["now"]
    assert now.startswith(f"{mine['verdict']}, the departure known to ±")
    assert now.endswith(" kt over the speeds it flew")


@pytest.mark.long
def test_what_cannot_be_meant_is_refused(slow: Program, tmp_path: Path) -> None:
    assert_explained(slow.run("plan", "C-01", "--weight-kg", "60"), 36, "60 kg")
    assert_explained(slow.run("plan", "C-01", "--wind-kt", "90"), 36, "90 kt")
    assert_explained(slow.run("plan", "C-01", "--out", tmp_path / "card.doc"), 36, "card.doc")
    eight = ("--points", "8", "--sorties", "1")
    crowded = slow.run("plan", "C-01", *eight, "--out", tmp_path / "card.pdf")
    assert_explained(crowded, 36, "not 8")
    assert not list(tmp_path.iterdir())
    assert slow.run("plan", "C-01", "--altitude-ft", "90000").exit_code == 2


@pytest.mark.long
def test_without_a_stall_speed_nothing_is_proposed(flown: Program) -> None:
    assert_explained(flown.run("plan", "C-01"), 3, "stall speed")


def test_limits_that_leave_no_speed_are_explained(tmp_path: Path) -> None:
    fast = "stall_speed_clean_kt = 115.0\nnever_exceed_kt = 141.0\n"
    program = own_store(tmp_path, with_limits(fleet_toml(FLEET), fast))
    assert_explained(program.run("plan", "C-01"), 3, "no speeds are left")


@pytest.mark.long
def test_a_change_to_a_port_that_nobody_else_carries_can_be_planned(tmp_path: Path) -> None:
    first, second, rest = with_limits(fleet_toml(FLEET)).partition('tag = "C-02"')
    old = first[first.index("[[airframe.fit]]") : first.rindex("[[airframe]]")]
    new = old.replace("2015-04-01", "2025-01-01").replace(WING, MID)
    program = own_store(tmp_path, first.replace(old, old + new) + second + rest)
    anew = program.json("plan", "C-01")
    assert anew["group"].startswith(MID)
    assert not anew["flown"]
    plan = program.json("plan", "C-01", "--question", "change")
    assert "nothing was flown with " + MID in plan["outlook"]["now"]
    assert plan["largest_before_kt"] is None
    assert len({run["ias_kt"] for run in plan["runs"]}) > 1


def test_the_order_of_headings_alternates_from_run_to_run(slow: Program) -> None:
    plan = slow.json("plan", "C-01", "--points", "6", "--wind-from-deg", "240", "--wind-kt", "10")
    flown = []
    for run in plan["runs"]:
        headings = [leg["heading_deg"] for leg in run["legs"]]
        flown += [headings[:: -1 if again % 2 else 1] for again in range(run["repeats"])]
    assert len(flown) == 6
    for number, headings in enumerate(flown):
        forth = [240.0, 330.0, 60.0, 150.0]
        assert headings == (forth[::-1] if number % 2 else forth)
