"""Limits of a type on the port that is fitted: carried before anything is proposed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import TAIL, WING, Group, fleet_toml
from tests.store_places import begun_at

FLEET = (Group(TAIL, 5, 0.0, 0.0), Group(WING, 5, 0.0, 0.0))
STALL = "stall_speed_clean_kt = 46.0\n"
KEYS = f"{STALL}manoeuvring_speed_kt = 98.0\nnever_exceed_kt = 154.0\n"
BOOK = f"""
[[handbook]]
type = "Corrie 2"
static_source = "{TAIL}"
flap_setting = "up"
name = "first edition"
weight_kg = 600.0
rows = [[50, 60], [70, 76], [90, 90], [110, 106], [130, 121], [140, 130]]
speeds = [["manoeuvring", 98.0], ["never exceed", 139.0]]
"""
# The true impact pressure is 1.21 times what the wing boom's indicator feels, so CAS is
# sqrt(1.21) = 1.1 times its IAS, but for compressibility: 0.10 kt at 110 kt, as the square.
KAPPA = 0.21
# Straight between the handbook's lines: 139 kt -> 121 + 9/10*9 kt; 98 kt -> 90 + 8/20*16 kt.
NEVER_EXCEED_CAS, MANOEUVRING_CAS = 129.1, 96.4


def points(fast: float = 0.0, kappa_of_wing: float = KAPPA) -> str:
    """Points of both ports; C-06 flew slow only, or feels `fast` more than the others at all."""
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"]
    for number in range(10):
        wing = number >= 5
        for speed in (55.0, 65.0, 80.0, 95.0, 110.0, 125.0):
            kappa = (kappa_of_wing if wing else 0.0) + 0.002 * (number % 5 - 2)
            kappa += 0.03 * ((2 * number) % 5 - 2) * ((45.0 / speed) ** 2 - 0.25)
            if number == 5 and speed > 90.0 and not fast:
                continue
            kappa += fast if number == 5 else 0.0
            tag = f"C-{number + 1:02d}"
            lines.append(f"{tag},2024-03-05,600,{speed},3000,{kappa:.8f},0.004,0.002")
    return "\n".join(lines) + "\n"


def flown(folder: Path, keys: str, book: str = BOOK, **felt: float) -> Program:
    program = Program(begun_at(folder / "store.sqlite3"))
    described = fleet_toml(FLEET).replace("scaling_speed_kt", f"{keys}scaling_speed_kt", 1)
    (folder / "fleet.toml").write_text(described + book, encoding="utf-8")
    (folder / "points.csv").write_text(points(**felt), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """A fleet file that says never exceed 154 kt, and a handbook that says 139 kt = 129.1 CAS."""
    return flown(tmp_path_factory.mktemp("limits"), KEYS)


def limits_of(plan: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {limit["kind"]: limit for limit in plan["limits"]}


@pytest.mark.long
def test_no_run_is_planned_above_never_exceed_as_the_fitted_port_shows_it(club: Program) -> None:
    plan = club.json("plan", "C-06", "--points", "6")
    assert max(run["ias_kt"] for run in plan["runs"]) < NEVER_EXCEED_CAS / 1.1
    never = limits_of(plan)["never exceed"]
    assert never["ias_kt"] == pytest.approx(NEVER_EXCEED_CAS / 1.1, abs=0.15)
    assert never["usable_kt"] <= never["low_kt"] < never["ias_kt"]
    assert max(run["ias_kt"] for run in plan["runs"]) <= 0.9 * never["low_kt"]
    assert plan["fastest_kt"] <= 0.9 * never["low_kt"]
    for said in ("139 kt IAS", TAIL, "129.1 kt CAS", "154 kt", "the lower holds"):
        assert said in never["because"], said


@pytest.mark.long
def test_smooth_air_is_asked_for_above_the_carried_manoeuvring_speed(club: Program) -> None:
    plan = club.json("plan", "C-06", "--points", "12", "--weight-kg", "540")
    lighter = MANOEUVRING_CAS * np.sqrt(540.0 / 600.0) / 1.1
    low = limits_of(plan)["manoeuvring"]["low_kt"]
    assert limits_of(plan)["manoeuvring"]["ias_kt"] == pytest.approx(lighter, abs=0.1)
    assert plan["manoeuvring_kt"] == np.floor(low)
    assert any(run["smooth_air_only"] for run in plan["runs"])
    assert all(run["smooth_air_only"] == (run["ias_kt"] > low) for run in plan["runs"])
    calm = club.json("plan", "C-06", "--rough-air", "--weight-kg", "540")
    assert max(run["ias_kt"] for run in calm["runs"]) <= low


@pytest.mark.long
def test_the_test_card_prints_the_carried_limits(club: Program, tmp_path: Path) -> None:
    plan = club.json("plan", "C-06", "--points", "2")
    for ending in ("txt", "html"):
        club.output("plan", "C-06", "--points", "2", "--out", tmp_path / f"card.{ending}")
        told = " ".join((tmp_path / f"card.{ending}").read_text(encoding="utf-8").split())
        assert f"never exceed {limits_of(plan)['never exceed']['usable_kt']}" in told
        assert f"Above {plan['manoeuvring_kt']} kt in smooth air only" in told
        assert "154" not in told


def test_on_the_handbook_s_own_port_neither_its_print_nor_its_cas_is_passed(club: Program) -> None:
    never = limits_of(club.json("plan", "C-01", "--points", "1"))["never exceed"]
    # This port has no error: 129.1 kt CAS is 129.1 kt IAS, below the 139 kt that are printed.
    assert 126.0 < never["usable_kt"] <= 129.1


@pytest.mark.long
def test_a_limit_of_no_named_port_holds_at_the_lowest_that_it_can_mean(tmp_path: Path) -> None:
    program = flown(tmp_path, f"{STALL}never_exceed_kt = 120.0\n", book="")
    slow_port = limits_of(program.json("plan", "C-06", "--points", "1"))["never exceed"]
    assert slow_port["ias_kt"] == pytest.approx(120.0 / 1.1, abs=0.15)  # as a CAS
    assert "names no port" in slow_port["because"]
    right_port = limits_of(program.json("plan", "C-01", "--points", "1"))["never exceed"]
    assert 118.0 < right_port["usable_kt"] <= 120.0


def test_a_limit_that_cannot_be_carried_stands_at_the_lower_of_what_is_known(
    tmp_path: Path,
) -> None:
    # 154 kt CAS is 140 kt on the wing boom, which nobody flew.
    book = BOOK.replace("[140, 130]]", "[140, 130], [170, 154]]").replace("139.0", "170.0")
    program = flown(tmp_path, STALL, book)
    never = limits_of(program.json("plan", "C-06", "--points", "1"))["never exceed"]
    assert never["usable_kt"] == 154
    assert never["ias_kt"] is None
    assert "does not reach so far" in never["because"]


def test_an_airframe_whose_own_points_show_a_limit_lower_is_held_to_them(tmp_path: Path) -> None:
    # CAS is 1.14 times the IAS of this one: its never exceed is 129.1/1.14 = 113 kt.
    program = flown(tmp_path, KEYS, fast=0.09)
    never = limits_of(program.json("plan", "C-06", "--points", "1"))["never exceed"]
    assert never["usable_kt"] <= NEVER_EXCEED_CAS / np.sqrt(1.0 + KAPPA + 0.09) + 0.15


@pytest.mark.long
def test_handbook_carry_names_what_the_fleet_file_says_against_it(club: Program) -> None:
    rows = {
        row["speed"]: row for row in club.json("handbook", "compare", WING, "--carry")["speeds"]
    }
    never = rows["never exceed"]
    assert never["next_low_kt"] - 0.1 <= never["not_above_kt"] <= never["next_low_kt"]
    assert "154 kt" in never["note"]
    assert "154 kt" in club.output("handbook", "compare", WING, "--carry")


@pytest.mark.long
def test_a_fleet_file_that_says_what_its_speeds_are_is_taken_at_its_word(tmp_path: Path) -> None:
    # 120 kt on the tail-boom pair are 106 + 10/20*15 = 113.5 kt CAS by its table.
    for said, cas in (("CAS", 120.0), (f"IAS on {TAIL}", 113.5), (f"IAS on {WING}", 120.0)):
        folder = tmp_path / said.replace(" ", "-")
        folder.mkdir()
        keys = f'{STALL}never_exceed_kt = 120.0\nspeeds_are = "{said}"\n'
        program = flown(folder, keys, BOOK.replace(', ["never exceed", 139.0]', ""))
        never = limits_of(program.json("plan", "C-06", "--points", "1"))["never exceed"]
        if WING in said:  # its own port: it stands as printed
            assert never["usable_kt"] == 120
        else:
            assert never["ias_kt"] == pytest.approx(cas / 1.1, abs=0.25)
        assert "names no port" not in never["because"]
    bad = fleet_toml(FLEET).replace("scaling", 'speeds_are = "TAS"\nscaling', 1)
    (tmp_path / "bad.toml").write_text(bad, encoding="utf-8")
    assert_explained(program.run("fleet", "load", tmp_path / "bad.toml"), 34, "speeds_are 'TAS'")


@pytest.mark.parametrize(
    ("said", "kappa", "slowest"),
    [
        # 1.3 * 46 kt = 59.8 kt. A port on which CAS is 0.9 times IAS shows that CAS at 66.4 kt.
        ("", -0.19, 59.8 / 0.9),
        ("CAS", -0.19, 59.8 / 0.9),
        (f"IAS on {WING}", -0.19, 59.8),
        ("", KAPPA, 59.8),
        ("CAS", KAPPA, 59.8 / 1.1),
    ],
)
def test_the_slowest_speed_of_a_plan_is_that_of_the_fitted_port(
    tmp_path: Path, said: str, kappa: float, slowest: float
) -> None:
    keys = STALL + (f'speeds_are = "{said}"\n' if said else "")
    program = flown(tmp_path, keys, book="", kappa_of_wing=kappa)
    plan = program.json("plan", "C-07", "--points", "1")
    # The high edge of the band for one aircraft, in whole knots, rounded up.
    assert slowest <= plan["slowest_kt"] <= slowest + 2.0
