"""Every point of a port that exists goes all ways through the program."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from seed_demo import air
from seed_demo.air import FT, KT
from tests.certified_port import POINTS, PRINTED, kappa_of
from tests.cli.command_line import Program
from tests.cli.invented_fleet import WING, Group, fleet_toml
from tests.store_places import begun_at

TAGS = ("C-09", "C-10", "C-11", "C-12", "C-13")  # with the wing boom
KAPPAS = "airframe,flown_on,flap_setting,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"
SPEEDS = "airframe,flown_on,flap_setting,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt\n"
ONE = Group(WING, 5, 0.0, 0.0)


def by_kappa(tags: tuple[str, ...] = TAGS) -> str:
    rows = (
        f"{tag},2023-05-06,{flaps},600,{ias},3000,{kappa_of(ias, cas) + 0.003 * off:.9f},0.01\n"
        for off, tag in zip((0, -2, 2, -1, 1), tags, strict=False)
        for flaps, ias, cas in POINTS
    )
    return KAPPAS + "".join(rows)


def by_speed() -> str:
    rows = (
        f"{TAGS[0]},2023-05-06,{flaps},600,{ias},3000,{cas - ias},0.5\n"
        for flaps, ias, cas in POINTS
    )
    return SPEEDS + "".join(rows)


def write(folder: Path, text: str, name: str = "points.csv") -> Path:
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


@pytest.mark.parametrize("row_by_row", [False, True], ids=["by column", "row by row"])
@pytest.mark.parametrize("text", [by_kappa(TAGS[:1]), by_speed()], ids=["kappa", "speed"])
def test_all_printed_points_can_be_imported(
    text: str, row_by_row: bool, program: Program, folder: Path
) -> None:
    if row_by_row:  # a barred row makes a block unusual
        head, rows = text.split("\n", 1)
        text = f"{head},barred\n" + "".join(f"{row},\n" for row in rows.splitlines())
        text += f"{TAGS[1]},2023-05-06,up,600,70,3000,0.0,0.5,leak check failed\n"
    done = program.run("points", "import", write(folder, text))
    assert done.exit_code == 0, done.stderr
    assert "kappa beyond 0.15 is more than most static ports make; they count" in done.stderr
    kept = program.json("points", "list", "--airframe", TAGS[0])["points"]
    assert len(kept) == len(POINTS) == 26
    assert all(point["accepted"] for point in kept)
    for point, (_, ias, cas) in zip(kept, POINTS, strict=True):
        assert point["vic_kt"] + point["dvpc_kt"] == pytest.approx(cas, abs=0.2), ias


def test_an_ordinary_import_is_not_doubted(program: Program, folder: Path) -> None:
    text = KAPPAS + f"{TAGS[0]},2023-05-06,up,600,90,3000,0.05,0.01\n"
    assert program.run("points", "import", write(folder, text)).stderr == ""


@pytest.mark.parametrize("flaps", PRINTED)
def test_all_printed_points_can_be_measured_against_a_pace_aircraft(
    flaps: str, program: Program, folder: Path
) -> None:
    rows = "".join(f"{ias},3000,{cas},0\n" for ias, cas in PRINTED[flaps])
    text = "vic_kt,hic_ft,pace_ias_kt,pace_correction_kt\n" + rows
    words = ("--airframe", TAGS[0], "--date", "2024-05-02", "--flap-setting", flaps)
    done = program.json("measure", "pace-aircraft", write(folder, text), *words)
    assert all(point["accepted"] for point in done["points"])
    for point, (ias, cas) in zip(done["points"], PRINTED[flaps], strict=True):
        assert point["dvpc_kt"] == pytest.approx(cas - ias, abs=0.05)
    doubts = [w for w in done["warnings"] if "nothing contradicts that" in w]
    assert len(doubts) == 1


@pytest.mark.parametrize("flaps", PRINTED)
def test_all_printed_points_can_be_measured_by_a_trailing_static(
    flaps: str, program: Program, folder: Path
) -> None:
    rows = ""
    for ias, cas in PRINTED[flaps]:
        felt = float(air.dial_impact_pressure(np.array(ias * KT)))
        free = air.standard_pressure(np.array(3000.0 * FT)) - kappa_of(ias, cas) * felt
        rows += f"{ias},3000,{float(air.pressure_altitude(free)) / FT:.2f}\n"
    text = "vic_kt,hic_ft,trailing_pressure_altitude_ft\n" + rows
    words = ("--airframe", TAGS[0], "--date", "2024-05-02", "--flap-setting", flaps)
    done = program.json("measure", "trailing-static", write(folder, text), *words)
    assert all(point["accepted"] for point in done["points"])
    for point, (ias, cas) in zip(done["points"], PRINTED[flaps], strict=True):
        assert point["kappa"] == pytest.approx(kappa_of(ias, cas), abs=0.002)


def test_a_measured_file_in_the_wrong_unit_is_not_accepted(program: Program, folder: Path) -> None:
    rows = "".join(f"{pace * 1.1508:.1f},3000,{pace},0\n" for pace in (60, 80, 100))
    text = "vic_kt,hic_ft,pace_ias_kt,pace_correction_kt\n" + rows
    words = ("--airframe", TAGS[0], "--date", "2024-05-02")
    points = program.json("measure", "pace-aircraft", write(folder, text), *words)["points"]
    assert not any(point["accepted"] for point in points)
    assert all("where knots and miles an hour are mixed up" in p["reason"] for p in points)
    stored = program.json("points", "list", "--airframe", TAGS[0])["points"]
    assert not any(point["accepted"] for point in stored)


def test_a_measured_point_is_held_against_the_handbook(program: Program, folder: Path) -> None:
    write(folder, "ias_kt,cas_kt\n60,62\n140,139\n", "table.csv")
    named = ("--name", "first edition", "--static-source", WING)
    program.output("handbook", "enter", folder / "table.csv", *named)
    text = "vic_kt,hic_ft,pace_ias_kt,pace_correction_kt\n100,3000,86,0\n"
    words = ("--airframe", TAGS[0], "--date", "2024-05-02")
    (point,) = program.json("measure", "pace-aircraft", write(folder, text), *words)["points"]
    assert not point["accepted"]
    assert point["reason"].endswith("where handbook first edition has 101 kt")


@pytest.fixture(scope="module")
def pooled(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """Five airframes with the printed port, each a little its own."""
    folder = tmp_path_factory.mktemp("printed")
    program = Program(begun_at(folder / "store.sqlite3"))
    five = fleet_toml((ONE,))
    for number, tag in enumerate(TAGS, 1):
        five = five.replace(f'"C-{number:02d}"', f'"{tag}"')
    program.output("fleet", "load", write(folder, five, "fleet.toml"))
    program.output("points", "import", write(folder, by_kappa()))
    return program


@pytest.mark.parametrize("flaps", PRINTED)
def test_printed_points_are_pooled_and_the_curve_follows_them(flaps: str, pooled: Program) -> None:
    curve = pooled.json("curve", WING, "--flap-setting", flaps)
    rows = {row["ias_kt"]: row for row in curve["rows"]}
    for ias, cas in PRINTED[flaps]:
        assert rows[ias]["cas_kt"] == pytest.approx(cas, abs=1.1), ias
    assert curve["airframes"] == 5


@pytest.mark.parametrize("flaps", PRINTED)
def test_a_handbook_with_the_printed_points_compares_with_their_curve(
    flaps: str, pooled: Program, tmp_path: Path
) -> None:
    table = "ias_kt,cas_kt\n" + "".join(f"{ias},{cas}\n" for ias, cas in PRINTED[flaps])
    named = ("--name", f"printed {flaps}", "--static-source", WING, "--flap-setting", flaps)
    pooled.output("handbook", "enter", write(tmp_path, table, "table.csv"), *named)
    found = pooled.json("handbook", "compare", WING, "--flap-setting", flaps)
    assert max(abs(row["difference_kt"]) for row in found["rows"] if row["curve_kt"]) < 1.2


@pytest.mark.long
def test_printed_points_are_shared_and_merged(
    pooled: Program, program: Program, folder: Path
) -> None:
    pooled.output("share", "--out", folder / "all.json")
    other = Program(begun_at(folder / "other.sqlite3"))
    assert other.json("merge", folder / "all.json")["stored"]
    one, two = (p.json("points", "list")["points"] for p in (pooled, other))
    assert sorted(p["kappa"] for p in one) == sorted(p["kappa"] for p in two)
    assert max(p["kappa"] for p in two) > 0.62
