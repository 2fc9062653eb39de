"""Large airspeed errors are held against what the store knows of the port and its type."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.certified_port import PRINTED, SHEET, legs
from tests.cli.command_line import Program
from tests.cli.invented_fleet import REFERENCE_WEIGHT_KG, WING
from tests.store_places import held

TAG = "C-09"  # which carries the wing boom
WHO = ("--airframe", TAG, "--weight-kg", 600, "--temperature-shows", "ambient")
MPH = (100, 87)  # 100 miles an hour, called knots
POINTS = "airframe,flown_on,flap_setting,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"


def reduced(
    program: Program,
    folder: Path,
    *pairs: tuple[int, int],
    flaps: str = "up",
    day: str = "2024-01-02",
) -> dict[str, Any]:
    rows = (legs(run, flaps, ias, cas) for run, (ias, cas) in enumerate(pairs, 1))
    (folder / "legs.csv").write_text(SHEET + "".join(rows), encoding="utf-8")
    return program.json("reduce", folder / "legs.csv", *WHO, "--date", day)


def handbook(program: Program, folder: Path, flaps: str, *pairs: tuple[float, float]) -> None:
    rows = "".join(f"{ias},{cas}\n" for ias, cas in pairs)
    (folder / "table.csv").write_text("ias_kt,cas_kt\n" + rows, encoding="utf-8")
    named = ("--name", "first edition", "--static-source", WING, "--flap-setting", flaps)
    program.output("handbook", "enter", folder / "table.csv", *named)


def keep(program: Program, folder: Path, tag: str, kappa: float, vic_kt: float = 99.0) -> None:
    row = f"{tag},2023-05-06,up,{REFERENCE_WEIGHT_KG},{vic_kt},3000,{kappa},0.01\n"
    (folder / f"{tag}.csv").write_text(POINTS + row, encoding="utf-8")
    program.output("points", "import", folder / f"{tag}.csv")


def typed(program: Program, folder: Path, **speeds: float | str) -> None:
    lines = [f"{name} = {value!r}" for name, value in speeds.items()]
    head = f'[[type]]\nname = "Corrie 2"\nreference_weight_kg = {REFERENCE_WEIGHT_KG}\n'
    text = head + "scaling_speed_kt = 45.0\n" + "\n".join(lines) + "\n"
    (folder / "type.toml").write_text(text.replace("'", '"'), encoding="utf-8")
    program.output("fleet", "load", folder / "type.toml")


def only(done: dict[str, Any]) -> dict[str, Any]:
    (run,) = done["runs"]
    assert isinstance(run, dict)
    return run


def test_what_nothing_contradicts_counts_with_a_doubt(program: Program, folder: Path) -> None:
    done = reduced(program, folder, MPH)
    assert only(done)["accepted"]
    assert sum("nothing contradicts that, so it counts" in w for w in done["warnings"]) == 1


def test_a_handbook_of_the_port_contradicts(program: Program, folder: Path) -> None:
    handbook(program, folder, "up", (60, 62), (140, 139))
    run = only(reduced(program, folder, MPH))
    assert not run["accepted"]
    assert run["reason"] == (
        "100 kt would be 87 kt calibrated, where handbook first edition has 101 kt"
    )


@pytest.mark.parametrize("flaps", PRINTED)
def test_a_handbook_that_has_the_error_takes_the_doubt_away(
    flaps: str, program: Program, folder: Path
) -> None:
    handbook(program, folder, flaps, *PRINTED[flaps])
    pairs = PRINTED[flaps][:3]
    done = reduced(program, folder, *pairs, flaps=flaps)
    assert all(run["accepted"] for run in done["runs"])
    assert not any("more than most static ports" in warning for warning in done["warnings"])
    slowest = pairs[0][0]
    share = round(100.0 * (pairs[0][1] / slowest - 1.0))
    assert any(
        note == f"Run 1 is off by +{share} %, as handbook first edition has it there."
        for note in done["notes"]
    )


def test_a_handbook_of_other_flaps_or_other_speeds_says_nothing(
    program: Program, folder: Path
) -> None:
    handbook(program, folder, "20", (60, 62), (140, 139))
    handbook(program, folder, "up", (110, 112), (140, 139))
    assert only(reduced(program, folder, MPH))["accepted"]


def test_kept_points_of_the_airframe_contradict_and_come_before_those_of_others(
    program: Program, folder: Path
) -> None:
    keep(program, folder, TAG, 0.02)
    keep(program, folder, "C-10", -0.24)
    run = only(reduced(program, folder, MPH))
    assert not run["accepted"]
    assert run["reason"].endswith(f"where kept points of {TAG} have 101 kt")


def test_kept_points_of_other_airframes_with_the_port_contradict(
    program: Program, folder: Path
) -> None:
    keep(program, folder, "C-10", 0.02)
    run = only(reduced(program, folder, MPH))
    assert run["reason"].endswith("where kept points of other airframes have 101 kt")


@pytest.mark.parametrize(
    ("tag", "kappa", "vic_kt"), [("C-01", 0.02, 99.0), (TAG, 0.02, 120.0), (TAG, -0.2, 99.0)]
)
def test_another_port_another_speed_or_the_same_error_contradicts_nothing(
    tag: str, kappa: float, vic_kt: float, program: Program, folder: Path
) -> None:
    keep(program, folder, tag, kappa, vic_kt)
    done = reduced(program, folder, MPH)
    assert only(done)["accepted"]
    assert any("nothing contradicts" in warning for warning in done["warnings"])


@pytest.mark.parametrize(
    ("speeds", "pair", "reason"),
    [
        ({"stall_speed_landing_kt": 50.0, "speeds_are": "CAS"}, (45, 39), "stalls at 50 kt"),
        (
            {"never_exceed_kt": 140.0, "speeds_are": "CAS"},
            (140, 161),
            "never-exceed speed is 140 kt",
        ),
        ({"never_exceed_kt": 100.0, "speeds_are": f"IAS on {WING}"}, (115, 100), "is 100 kt"),
        ({"never_exceed_kt": 100.0}, (140, 122), "never-exceed speed is 100 kt"),
        # one of the two readings of it can be
        ({"never_exceed_kt": 140.0}, (140, 161), ""),
        ({"stall_speed_landing_kt": 50.0}, (45, 39), ""),
    ],
)
def test_the_stall_and_the_never_exceed_speed_contradict(
    speeds: dict[str, float | str],
    pair: tuple[int, int],
    reason: str,
    program: Program,
    folder: Path,
) -> None:
    typed(program, folder, **speeds)
    run = only(reduced(program, folder, pair))
    assert run["accepted"] == (not reason)
    assert run["reason"].endswith(reason)


@pytest.mark.long
def test_a_flight_reduced_again_is_not_held_against_itself(program: Program, folder: Path) -> None:
    assert only(reduced(program, folder, MPH))["accepted"]
    program.output("logs", "keep", folder / "legs.csv")
    before = held(program.store)
    done = program.json("reduce", "--again", "--airframe", TAG)
    assert done["flights"]
    assert held(program.store) == before
    keep(program, folder, "C-10", 0.02)
    program.output("reduce", "--again", "--airframe", TAG, "--replace")
    (point,) = program.json("points", "list", "--airframe", TAG)["points"]
    assert not point["accepted"]
    assert point["reason"].endswith("kept points of other airframes have 101 kt")


def test_a_flight_of_a_folder_is_held_against_the_store_too(program: Program, folder: Path) -> None:
    handbook(program, folder, "up", (60, 62), (140, 139))
    (folder / "logs").mkdir()
    (folder / "logs" / "legs.csv").write_text(SHEET + legs(1, "up", *MPH), encoding="utf-8")
    done = program.json("reduce", folder / "logs", *WHO, "--date", "2024-01-02")
    (line,) = done["files"]
    assert line["not_accepted"] == 1
