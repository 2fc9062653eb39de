"""Handbook tables and speeds against the port that is fitted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import TAIL, WING, Group, fleet_toml
from tests.store_places import begun_at

FLEET = (Group(TAIL, 5, 0.0, 0.0), Group(WING, 5, 0.0, 0.0))
SPEEDS = "speed,ias_kt\nstall,55\nflap limit,82\nnever exceed,139\n"
# Invented, in the shape that is common: 10 kt slow when slow, 10 kt fast when fast
# (common practice, no published source).
TILTED = "ias_kt,cas_kt\n50,60\n70,76\n90,90\n110,106\n130,121\n140,130\n"


def points_of(kappa: Callable[[float], float]) -> str:
    """Points of the wing boom with a kappa that is a function of IAS; airframes differ little."""
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"]
    for number, tag in enumerate(("C-06", "C-07", "C-08", "C-09", "C-10")):
        for speed in (50.0, 60.0, 75.0, 90.0, 105.0, 120.0, 140.0):
            value = kappa(speed) + 0.002 * (number - 2)
            lines.append(f"{tag},2024-03-05,600,{speed},3000,{value:.8f},0.006,0.003")
    return "\n".join(lines) + "\n"


@pytest.fixture
def flown(tmp_path: Path) -> Callable[[Callable[[float], float]], Program]:
    """Return a function that makes a store whose wing boom has a kappa of IAS."""

    def make(kappa: Callable[[float], float]) -> Program:
        program = Program(begun_at(tmp_path / "store.sqlite3"))
        (tmp_path / "fleet.toml").write_text(fleet_toml(FLEET), encoding="utf-8")
        (tmp_path / "points.csv").write_text(points_of(kappa), encoding="utf-8")
        program.output("fleet", "load", tmp_path / "fleet.toml")
        program.output("points", "import", tmp_path / "points.csv")
        return program

    return make


def enter(program: Program, folder: Path, table: str = TILTED, speeds: str = SPEEDS) -> None:
    (folder / "table.csv").write_text(table, encoding="utf-8")
    (folder / "speeds.csv").write_text(speeds, encoding="utf-8")
    words = ("--name", "first edition", "--static-source", TAIL)
    program.output(
        *("handbook", "enter", folder / "table.csv", *words),
        *("--speeds", folder / "speeds.csv"),
    )


def test_a_worked_case_done_by_hand(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    # kappa = 0.21 everywhere: the true impact pressure is 1.21 times what the indicator feels,
    # so CAS is sqrt(1.21) = 1.1 times IAS, but for compressibility. Its share of a speed is
    # kappa/8 times the square of the Mach number: 0.02 kt at 60 kt, 0.10 kt at 110 kt.
    # Handbook, straight between its lines: 55 kt -> 60 + 5/20*16 = 64 kt; 82 kt ->
    # 76 + 12/20*14 = 84.4 kt; 139 kt -> 121 + 9/10*9 = 129.1 kt. On the port: divide by 1.1.
    program = flown(lambda _: 0.21)
    enter(program, tmp_path)
    found = {
        row["speed"]: row for row in program.json("handbook", "compare", WING, "--carry")["speeds"]
    }
    for speed, cas, ias, within in (
        ("stall", 64.0, 64.0 / 1.1, 0.03),
        ("flap limit", 84.4, 84.4 / 1.1, 0.06),
        ("never exceed", 129.1, 129.1 / 1.1, 0.15),
    ):
        assert found[speed]["cas_kt"] == pytest.approx(cas, abs=1e-9)
        assert found[speed]["ias_kt"] == pytest.approx(ias, abs=within)
        change = found[speed]["ias_kt"] - found[speed]["handbook_ias_kt"]
        assert found[speed]["change_kt"] == pytest.approx(change)
        bands = [found[speed][name] for name in ("next_low_kt", "low_kt", "ias_kt")]
        bands += [found[speed][name] for name in ("high_kt", "next_high_kt")]
        assert bands == sorted(bands)
    assert [row["limit"] for row in found.values()] == [False, True, True]


@pytest.mark.long
def test_there_and_back_again_closes(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda ias: 0.35 * (60.0 / ias) ** 2 - 0.12)
    speeds = "speed,ias_kt\n" + "".join(f"at {ias},{ias}\n" for ias in range(51, 140, 4))
    enter(program, tmp_path, speeds=speeds)
    rows = program.json("handbook", "compare", WING, "--carry")["speeds"]
    told = [row for row in rows if row["ias_kt"] is not None]
    assert len(told) > 12
    fine = program.json("curve", WING, "--step", "0.5")["rows"]
    ias, cas = (np.array([r[name] or np.nan for r in fine]) for name in ("ias_kt", "cas_kt"))
    for row in told:
        # The table of the curve, straight within half a knot: bent by less than 0.001 kt there.
        assert np.interp(row["ias_kt"], ias, cas) == pytest.approx(row["cas_kt"], abs=0.01)


@pytest.mark.long
def test_the_bands_of_a_carried_speed_are_where_the_curves_bands_reach_its_cas(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda ias: 0.002 * (ias - 90.0) / 10.0)
    enter(program, tmp_path)
    fine = program.json("curve", WING, "--step", "0.5")["rows"]
    ias = np.array([row["ias_kt"] for row in fine])
    (row,) = [
        r
        for r in program.json("handbook", "compare", WING, "--carry")["speeds"]
        if r["speed"] == "stall"
    ]
    for edge, band in (("low_kt", "mean_high_kt"), ("next_high_kt", "next_low_kt")):
        cas = ias + np.array([np.nan if r[band] is None else r[band] for r in fine])
        assert np.interp(row[edge], ias, cas) == pytest.approx(row["cas_kt"], abs=0.01)


def test_the_common_shape_is_easy_to_see(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda _: 0.0)
    enter(program, tmp_path)
    found = program.json("handbook", "compare", WING)
    rows = {row["ias_kt"]: row for row in found["rows"]}
    assert rows[50.0]["difference_kt"] == pytest.approx(10.0, abs=0.2)
    assert rows[140.0]["difference_kt"] == pytest.approx(-10.0, abs=0.2)
    for row in rows.values():
        assert row["difference_kt"] == pytest.approx(row["handbook_kt"] - row["curve_kt"])
        assert row["next_low_kt"] < row["low_kt"] < row["difference_kt"] < row["high_kt"]
    text = program.output("handbook", "compare", WING)
    assert "at 50 kt indicated the aircraft flies 50.0 kt calibrated" in text
    assert "handbook's 60.0 kt" in text
    assert "10.0 kt slower than the handbook" in text
    assert "at 140 kt indicated" in text
    assert "10.0 kt faster than the handbook" in text


def test_a_handbook_that_agrees_is_said_to(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda _: 0.0)
    enter(program, tmp_path, "ias_kt,cas_kt\n50,50\n140,140\n")
    verdict = program.json("handbook", "compare", WING)["verdict"]
    assert verdict.startswith("at no speed does the handbook's table differ")


def test_limits_are_information_with_their_caution(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda _: 0.05)
    enter(program, tmp_path)
    text = program.output("handbook", "compare", WING, "--carry")
    assert "Only the holder of the design data and the authority may change a" in text
    assert "Advisory only" in text
    enter(program, tmp_path, speeds="speed,ias_kt\nglide,62\n")
    assert "design data" not in program.output("handbook", "compare", WING, "--carry")


@pytest.mark.long
def test_a_curve_that_does_not_rise_is_not_solved(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    # CAS = IAS * sqrt(1 + kappa) falls where kappa falls faster than 2 (1 + kappa)/IAS a knot.
    program = flown(lambda ias: 2.7 * ((45.0 / ias) ** 2 - 0.25) ** 2 - 0.40)
    enter(program, tmp_path)
    assert_explained(program.run("handbook", "compare", WING, "--carry"), 5, "does not rise")
    words = ("publish", WING, "--out", tmp_path / "pages", "--direction", "cas-to-ias")
    assert_explained(program.run(*words), 5, "does not rise")
    assert not (tmp_path / "pages").exists()


def test_beyond_the_table_and_beyond_the_speeds_flown_nothing_is_told(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda _: 0.0)
    enter(program, tmp_path, "ias_kt,cas_kt\n30,30\n160,160\n", "speed,ias_kt\na,35\nb,170\nc,80\n")
    found = {
        row["speed"]: row for row in program.json("handbook", "compare", WING, "--carry")["speeds"]
    }
    assert found["a"]["cas_kt"] == pytest.approx(35.0)
    assert [found["a"][name] for name in ("ias_kt", "low_kt", "next_high_kt")] == [None] * 3
    assert "enough airframes flew" in found["a"]["note"]
    assert found["b"]["cas_kt"] is None
    assert "off the handbook's table" in found["b"]["note"]
    assert found["c"]["note"] == ""
    rows = {r["ias_kt"]: r for r in program.json("handbook", "compare", WING)["rows"]}
    assert rows[150.0]["curve_kt"] is None
    assert rows[150.0]["note"]


def test_what_is_entered_is_listed_written_and_read_again(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda _: 0.0)
    enter(program, tmp_path)
    (line,) = program.json("show", "handbooks")["handbooks"]
    assert (line["lines"], line["slowest_kt"], line["fastest_kt"]) == (6, 50.0, 140.0)
    assert line["speeds"] == "flap limit 82, never exceed 139, stall 55"
    program.output("show", "fleet", "--out", tmp_path / "copy.toml")
    other = Program(begun_at(tmp_path / "other.sqlite3"))
    other.output("fleet", "load", tmp_path / "copy.toml")
    assert other.json("show", "handbooks")["handbooks"] == [line]
    assert " 0 changed" in other.output("fleet", "load", tmp_path / "copy.toml")


@pytest.mark.parametrize(
    ("table", "speeds", "code", "named"),
    [
        ("ias_kt,cas_kt\n50,60\n60,x\n", SPEEDS, 34, ("table.csv", "line 3", "cas_kt", "'x'")),
        ("ias_kt,cas_kt\n50,60\n", SPEEDS, 31, ("table.csv",)),
        ("ias_kt\n50\n60\n", SPEEDS, 33, ("cas_kt",)),
        ("ias_kt,cas_kt,x\n50,60,1\n", SPEEDS, 34, ("'x'",)),
        (TILTED, "speed,ias_kt\nstall,-4\n", 34, ("speeds.csv", "line 2", "'-4'")),
        (TILTED, "speed,ias_kt\nstall,nan\n", 34, ("speeds.csv", "'nan'")),
        (TILTED, "speed,ias_kt\nstall,50\nstall,51\n", 3, ("stall", "2 times")),
        ("ias_kt,cas_kt\n50,60\n50,61\n", SPEEDS, 3, ("2 times",)),
    ],
)
def test_a_file_that_is_not_right_is_refused_whole(
    flown: Callable[[Callable[[float], float]], Program],
    tmp_path: Path,
    table: str,
    speeds: str,
    code: int,
    named: tuple[str, ...],
) -> None:
    program = flown(lambda _: 0.0)
    (tmp_path / "table.csv").write_text(table, encoding="utf-8")
    (tmp_path / "speeds.csv").write_text(speeds, encoding="utf-8")
    words = ("--name", "x", "--static-source", TAIL, "--speeds", tmp_path / "speeds.csv")
    assert_explained(program.run("handbook", "enter", tmp_path / "table.csv", *words), code, *named)
    assert program.json("show", "handbooks")["handbooks"] == []


def test_a_handbook_that_is_not_there_or_not_unique_is_said(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda _: 0.0)
    assert_explained(program.run("handbook", "compare", WING), 35, "no handbook table")
    enter(program, tmp_path)
    result = program.run("handbook", "compare", WING, "--carry", "--name", "second edition")
    assert_explained(result, 35, "second edition")
    words = ("--name", "second edition", "--static-source", WING)
    program.output("handbook", "enter", tmp_path / "table.csv", *words)
    assert_explained(program.run("handbook", "compare", WING), 3, "several handbook tables")
    result = program.run("handbook", "compare", WING, "--carry", "--name", "Second Edition")
    assert_explained(result, 3, "names no speeds")


def test_a_handbook_of_an_unknown_port_is_held_against_one_airframe(
    flown: Callable[[Callable[[float], float]], Program], tmp_path: Path
) -> None:
    program = flown(lambda ias: 0.0)
    (tmp_path / "book.csv").write_text(TILTED, encoding="utf-8")
    said = program.output("handbook", "enter", tmp_path / "book.csv", "--name", "old issue")
    assert "port of the handbook 'old issue'" in said
    again = program.output("handbook", "enter", tmp_path / "book.csv", "--name", "old issue")
    assert "unchanged" in again
    found = program.json("handbook", "compare", "C-08")
    assert found["group"] == "C-08"
    assert found["handbook_static_source"] == "port of the handbook 'old issue'"
    at_60 = next(row for row in found["rows"] if row["ias_kt"] == 60.0)
    # kappa of C-08 is zero at all speeds, and the table says 68 kt at 60
    assert at_60["difference_kt"] == pytest.approx(8.0, abs=0.5)
    assert at_60["low_kt"] < 8.0 < at_60["high_kt"]
