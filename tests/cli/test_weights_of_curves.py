"""A curve is one of lift: which speeds it is told at, who read them, and what a light one gets."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL, WING, Group, fleet_toml
from tests.store_places import begun_at

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

FLEET = (Group(WING, 4, 0.0, 0.0),)
BOOK = f"""
[[handbook]]
type = "Corrie 2"
static_source = "{TAIL}"
flap_setting = "up"
name = "first edition"
weight_kg = 600.0
rows = [[50, 50], [150, 150]]
speeds = [["flap limit", 80.0], ["never exceed", 140.0]]
"""
SPEEDS = (55.0, 70.0, 90.0, 110.0, 128.0)


@pytest.fixture(scope="module")
def light_fleet(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """Four airframes, all flown at 480 kg, whose kappa grows steeply with lift."""
    folder = tmp_path_factory.mktemp("light")
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"]
    for number in range(4):
        for speed in SPEEDS:
            lift = (45.0 / speed) ** 2 * 480.0 / 600.0
            kappa = 0.001 * (number - 1.5) + 0.3 * (lift - 0.25)
            lines.append(f"C-0{number + 1},2024-03-05,480,{speed},3000,{kappa:.8f},0.003,0.001")
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml(FLEET) + BOOK, encoding="utf-8")
    (folder / "points.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


def test_points_brought_to_the_weight_decide_and_readings_as_read_are_counted(
    light_fleet: Program,
) -> None:
    rows = {row["ias_kt"]: row for row in light_fleet.json("curve", WING)["rows"]}
    # 55 and 128 kt at 480 kg are 61.5 and 143.1 kt at 600 kg.
    assert rows[60.0]["cas_kt"] is not None
    assert rows[145.0]["cas_kt"] is not None
    assert (rows[145.0]["airframes"], rows[145.0]["flown_by"]) == (4, 0)
    assert (rows[125.0]["airframes"], rows[125.0]["flown_by"]) == (4, 4)
    # At 650 kg 60 kt is a lift that nobody flew, though all four read that speed.
    heavier = light_fleet.json("curve", WING, "--weight-kg", "650")["rows"]
    (slow,) = [row for row in heavier if row["ias_kt"] == 60.0]
    assert slow["cas_kt"] is None
    assert (slow["airframes"], slow["flown_by"]) == (0, 4)
    assert "not flown at 650 kg" in slow["note"]
    assert "4 read it at other weights" in slow["note"]


@pytest.mark.long
def test_a_correction_that_changes_with_weight_by_more_than_its_band_is_told_at_both(
    light_fleet: Program, tmp_path: Path
) -> None:
    told = light_fleet.json("curve", WING)
    alone = {r["ias_kt"]: r for r in light_fleet.json("curve", WING, "--weight-kg", "480")["rows"]}
    assert told["light_weight_kg"] == 480.0
    for row in told["rows"]:
        if row["light_correction_kt"] is not None and row["ias_kt"] in alone:
            expected = alone[row["ias_kt"]]["correction_kt"]
            assert row["light_correction_kt"] == pytest.approx(expected, abs=1e-9)
    (slow,) = [row for row in told["rows"] if row["ias_kt"] == 65.0]
    # kappa is 0.3 (s - 0.25): 0.069 at 600 kg, 0.040 at 480 kg; about 65/2 kt for each unit.
    assert slow["correction_kt"] - slow["light_correction_kt"] == pytest.approx(0.91, abs=0.1)
    assert "At 480 kg, the lightest flown" in light_fleet.output("curve", WING)
    light_fleet.output("publish", WING, "--out", tmp_path, "--formats", "json")
    (file,) = tmp_path.iterdir()
    assert json.loads(file.read_text(encoding="utf-8"))["light_weight_kg"] == 480.0
    at_lightest = light_fleet.json("curve", WING, "--weight-kg", "480")
    assert at_lightest["light_weight_kg"] is None


def test_point_and_group_lists_say_that_speeds_are_as_read(light_fleet: Program) -> None:
    assert "IAS as read" in light_fleet.output("points", "list")
    assert "IAS as read" in light_fleet.output("groups")
    assert "IAS at 600 kg" in light_fleet.output("curve", WING)


def test_a_table_keeps_never_exceed_at_every_weight_at_which_it_can_be_carried(
    light_fleet: Program, tmp_path: Path
) -> None:
    # kappa at 140 kt and 600 kg is 0.3 (0.103 - 0.25) = -0.044: 140 kt CAS is some 143 kt there.
    # At 480 kg nobody flew so fast, which is no reason to let an uncarried figure stand.
    words = ("--out", tmp_path, "--formats", "json")
    light_fleet.output("publish", WING, *words)
    (file,) = tmp_path.iterdir()
    limits = {one["name"]: one for one in json.loads(file.read_text("utf-8"))["limits"]}
    never = limits["never exceed"]
    assert 141.0 < never["not_above_ias_kt"] < 144.0
    assert "at 600 kg" in never["reasons"]
