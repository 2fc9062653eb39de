"""A flight is recognised whatever file it comes in, and counted once unless somebody says so."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.attacks.disguises import LOGS, flown, typed_by_hand
from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_glides import GLIDE
from tests.cli.invented_glides import log_text as glide_text
from tests.cli.invented_sortie import log_text

WHO = ("--airframe", "C-01", "--weight-kg", "560")
DAY = ("--date", "2024-05-02")
IDLE = ("--quantity", "glide", "--power-state", "idle")
NAMED = "this flight is stored already, as sortie 1 of C-01 on 2024-05-02 from first.csv"


@pytest.fixture(scope="module")
def text() -> str:
    return log_text(flown(1))


@pytest.fixture
def first(program: Program, folder: Path, text: str) -> Path:
    """A log that is stored, as sortie 1."""
    path = folder / "first.csv"
    path.write_text(text)
    program.output("reduce", path, *WHO)
    return path


def points(program: Program) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = program.json("points", "list")["points"]
    return found


@pytest.mark.long
@pytest.mark.parametrize("disguise", LOGS)
def test_a_log_in_another_file_is_refused_with_the_sortie_that_has_it(
    program: Program, first: Path, text: str, disguise: str
) -> None:
    file, made = LOGS[disguise]
    (first.parent / file).write_bytes(made(text))
    before = points(program)
    done = program.run("reduce", first.parent / file, *WHO, *DAY)
    assert done.exit_code == 3
    assert f"{file}: {NAMED}: " in done.stderr
    assert "'--another-flight' keeps it as another one" in done.stderr
    assert points(program) == before


@pytest.mark.long
def test_a_log_without_a_day_is_recognised_under_a_wrong_day(
    program: Program, first: Path, text: str
) -> None:
    file, made = LOGS["a clock without a day"]
    (first.parent / file).write_bytes(made(text))
    done = program.run("reduce", first.parent / file, *WHO, "--date", "2024-08-30")
    assert NAMED in done.stderr


@pytest.mark.long
def test_other_flights_of_one_day_and_wind_are_kept(
    program: Program, folder: Path, first: Path
) -> None:
    for seed in range(2, 7):
        path = folder / f"{seed}.csv"
        path.write_text(log_text(flown(seed)))
        program.output("reduce", path, *WHO)
    assert len({point["sortie_id"] for point in points(program)}) == 6


@pytest.mark.long
def test_legs_typed_by_hand_are_recognised_and_other_legs_are_not(
    program: Program, first: Path
) -> None:
    legs = program.json("reduce", first, "--preview")["legs"]
    sheet = first.parent / "sheet.csv"
    for in_mph in (False, True):
        sheet.write_text(typed_by_hand(legs, in_mph=in_mph))
        assert NAMED in program.run("reduce", sheet, *WHO, *DAY).stderr
    later = [{**leg, "ground_speed_kt": leg["ground_speed_kt"] + 2.0} for leg in legs]
    sheet.write_text(typed_by_hand(later))
    program.output("reduce", sheet, *WHO, *DAY)


@pytest.mark.long
def test_the_flight_of_another_airframe_is_named_with_how_it_is_moved(
    program: Program, first: Path, text: str
) -> None:
    file, made = LOGS["gzip"]
    (first.parent / file).write_bytes(made(text))
    done = program.run("reduce", first.parent / file, "--airframe", "C-02", *WHO[2:])
    assert done.exit_code == 3
    assert "fleetcal points move 1 C-02" in done.stderr


@pytest.mark.long
def test_it_is_kept_as_another_flight_if_somebody_says_so(
    program: Program, first: Path, text: str
) -> None:
    copy = first.parent / "copy.csv"
    copy.write_text(text.replace("\n", "\r\n"))
    program.output("reduce", copy, *WHO, "--another-flight")
    assert {(p["sortie_id"], p["accepted"]) for p in points(program)} == {(1, True), (2, True)}


@pytest.mark.long
def test_it_takes_the_place_of_the_stored_one_if_somebody_says_so(
    program: Program, first: Path, text: str
) -> None:
    copy = first.parent / "copy.csv"
    copy.write_text(text.replace("\n", "\r\n"))
    done = program.run("reduce", copy, *WHO, "--replace")
    assert done.exit_code == 0
    assert "Sortie 1 from first.csv counts no more: 3 points rejected" in done.stderr
    assert {(p["sortie_id"], p["accepted"], p["reason"]) for p in points(program)} == {
        (1, False, "the flight was stored again from copy.csv"),
        (2, True, ""),
    }
    program.output("undo")
    assert {(p["sortie_id"], p["accepted"]) for p in points(program)} == {(1, True)}


def test_what_is_said_of_a_repeat_must_be_of_use(program: Program, first: Path) -> None:
    for words in (
        ("reduce", first, *WHO, "--replace", "--another-flight"),
        ("reduce", first, "--another-flight"),
        ("reduce", "--again", "--another-flight"),
    ):
        assert program.run(*words).exit_code == 2


@pytest.mark.long
def test_somebody_at_a_terminal_is_asked(
    program: Program, first: Path, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = first.parent / "copy.csv"
    copy.write_text(text + "\n")
    answers = iter([False, True])
    monkeypatch.setattr("fleetcal.cli.repeated_flight.on_terminal", lambda: True)
    monkeypatch.setattr("click.confirm", lambda question, err: next(answers))
    assert program.run("reduce", copy, *WHO).exit_code == 3
    program.output("reduce", copy, *WHO)
    assert {p["sortie_id"] for p in points(program)} == {1, 2}


@pytest.mark.long
def test_a_folder_passes_over_a_repeat_and_goes_on(
    program: Program, folder: Path, first: Path, text: str
) -> None:
    logs = folder / "logs"
    logs.mkdir()
    (logs / "again.csv").write_text(text.replace("\n", "\r\n"))
    (logs / "other.csv").write_text(log_text(flown(2)))
    done = program.run("reduce", logs, *WHO)
    assert done.exit_code == 0
    assert "1 file has a flight that is stored from another file: passed over" in done.stdout
    assert f"again.csv: passed over, as {NAMED}" in done.stderr
    found = program.json("reduce", logs, *WHO)
    assert (found["repeated"], found["known"], found["failed"]) == (1, 1, 0)
    assert [line["outcome"] for line in found["files"]] == ["same flight", "known already"]


@pytest.mark.long
def test_points_of_a_stored_flight_are_recognised_in_a_file_of_points(
    program: Program, first: Path
) -> None:
    file = first.parent / "typed.csv"
    rows = [
        f"C-01,2024-05-02,560,{p['vic_kt']:.1f},{p['pressure_altitude_ft']:.0f},{p['dvpc_kt']:.1f},"
        f"{p['u_dvpc_kt']:.1f}\n"
        for p in points(program)
    ]
    heading = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt\n"
    file.write_text(heading + "".join(rows))
    assert_explained(program.run("points", "import", file), 3, NAMED)
    program.output("points", "import", file, "--replace")
    # a server never gives a number again that was refused
    assert {(p["sortie_id"] > 1, p["accepted"]) for p in points(program)} == {
        (False, False),
        (True, True),
    }
    other_day = heading + "".join(rows).replace("2024-05-02", "2024-05-03")
    file.write_text(other_day)
    program.output("points", "import", file)


@pytest.mark.long
def test_a_log_is_recognised_whose_points_were_imported_before(
    program: Program, first: Path
) -> None:
    exported = program.output("points", "list", "--out", "-")
    program.output("undo")
    file = first.parent / "first-points.csv"
    file.write_text(exported)
    program.output("points", "import", file)
    done = program.run("reduce", first, *WHO)
    assert "from first-points.csv: 3 of 3 points alike" in done.stderr


def test_a_measurement_saved_anew_is_recognised(program: Program, folder: Path) -> None:
    from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES

    file = folder / "first.csv"
    text = TECHNIQUE_FILES["pace-aircraft"].example
    file.write_text(text)
    words = ("measure", "pace-aircraft", file, *WHO, *DAY)
    program.output(*words)
    file.write_text(text.replace("\n", "\r\n"))
    done = program.run(*words)
    assert done.exit_code == 3
    assert NAMED in done.stderr
    program.output(*words, "--another-flight")


@pytest.mark.long
def test_glides_of_another_file_are_recognised(program: Program, folder: Path) -> None:
    text = glide_text(GLIDE)
    (folder / "first.csv").write_text(text)
    program.output("reduce", folder / "first.csv", *WHO, *IDLE)
    (folder / "again.csv").write_text(text.replace("\n", "\r\n"))
    done = program.run("reduce", folder / "again.csv", *WHO, *IDLE)
    assert done.exit_code == 3
    assert NAMED in done.stderr
    program.output("reduce", folder / "again.csv", *WHO, *IDLE, "--replace")
    listed = program.json("points", "list", "--quantity", "glide")["climbs"]
    assert {one["sortie_id"] for one in listed if one["accepted"]} <= {2}


@pytest.mark.long
def test_a_log_solved_otherwise_after_a_bench_check_is_recognised(
    program: Program, folder: Path, first: Path, text: str
) -> None:
    checks = folder / "asi.csv"
    checks.write_text("indicated_kt,correction_kt\n40,1.5\n150,2.0\n")
    bench = ("--airframe", "C-01", "--date", "2024-01-01", "--u-kt", "0.5")
    program.output("bench", "enter", "airspeed", checks, *bench)
    (folder / "again.csv").write_text(text.replace("\n", "\r\n"))
    done = program.run("reduce", folder / "again.csv", *WHO)
    assert NAMED in done.stderr


@pytest.mark.long
def test_flights_without_legs_are_told_apart_and_recognised(program: Program, folder: Path) -> None:
    who = (*WHO, "--solve-by", "flight")
    for seed in (41, 42, 43):
        path = folder / "first.csv"
        path.write_text(log_text(flown(seed)))
        program.output("reduce", path, *who)
    for disguise in ("CRLF", "first 90 %", "last 80 %", "other units, whole numbers"):
        file, made = LOGS[disguise]
        (folder / file).write_bytes(made(log_text(flown(41))))
        done = program.run("reduce", folder / file, *who)
        assert NAMED in done.stderr, disguise
