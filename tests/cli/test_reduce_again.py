"""A stored flight is reduced again: compared first, replaced only when told to, nothing lost."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import fleetcal
from fleetcal.store.exchange import replace_flight
from fleetcal.store.history_guard import KEPT
from fleetcal.store.models import Base
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store_places import begun_at, change, opened

WHO = ("--airframe", "C-01", "--weight-kg", "580")
SHEET = leg_sheet(1, 2, legs=3)


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(rough_log)
    return path


@pytest.fixture
def warm(program: Program, folder: Path) -> Path:
    """Settings with a thermometer so poor that it shows beside an indicator never on a bench."""
    text = program.output("settings").replace("u_temperature_k = 1.0", "u_temperature_k = 12.0")
    assert "= 12.0" in text
    path = folder / "warm.toml"
    path.write_text(text)
    return path


def rows(program: Program) -> dict[str, list[Any]]:
    """Every row of the store but for the history."""
    names = {table.name for table in Base.metadata.sorted_tables}
    with opened(program.store) as connection:
        return {
            name: connection.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall()
            for name in names - set(KEPT)
        }


def outcomes(found: dict[str, Any]) -> list[str]:
    return [point["outcome"] for point in found["points"]]


@pytest.mark.long
@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--drop", "2:3"),
        ("--keep", "1", "--keep", "3"),
        ("--solve-by", "manoeuvres"),
        ("--solve-by", "flight"),
        ("--flap-setting", "15", "--note", "calm"),
        ("--date", "2024-05-09"),
    ],
    ids=" ".join,
)
def test_the_same_method_changes_nothing_at_all(
    program: Program, log: Path, folder: Path, words: tuple[str, ...]
) -> None:
    program.output("reduce", log, *WHO, *words, "--keep-log")
    log.unlink()
    before = folder_content(folder)
    done = program.json("reduce", "--again", "--replace")
    assert set(outcomes(done)) == {"alike"}
    assert [flight["outcome"] for flight in done["flights"]] == ["alike"]
    assert folder_content(folder) == before


@pytest.mark.long
def test_weight_from_take_off_and_a_declination_are_asked_for_as_before(
    program: Program, folder: Path, rough_log: str
) -> None:
    log = folder / "flight.csv"
    log.write_text(rough_log.replace("deg true", "deg magnetic"))
    fuel = ("--takeoff-weight-kg", "598", "--fuel-used-kg-per-h", "14")
    program.output("reduce", log, "--airframe", "C-01", *fuel, "--declination-deg", "2")
    done = program.json("reduce", log, "--again")
    assert outcomes(done) == ["alike"] * 3
    turned = program.json("reduce", log, "--again", "--declination-deg", "5")
    assert turned["points"][0]["outcome"] == "changed"
    heavy = program.json("reduce", log, "--again", "--weight-kg", "620")
    assert outcomes(heavy) == ["changed"] * 3


@pytest.mark.long
def test_a_sheet_a_mapping_and_a_packed_log_are_read_again(
    program: Program, folder: Path, rough_log: str
) -> None:
    import gzip

    (folder / "sheet.csv").write_text(SHEET)
    program.output("reduce", folder / "sheet.csv", *WHO, "--date", "2024-05-01", "--keep-log")
    odd = rough_log.replace("IAS (kt)", "V7", 1)
    (folder / "map.toml").write_text('indicated_airspeed = { column = "V7", unit = "kt" }\n')
    (folder / "odd.csv.gz").write_bytes(gzip.compress(odd.encode()))
    mapped = ("--mapping", folder / "map.toml", "--keep-log")
    program.output("reduce", folder / "odd.csv.gz", *WHO, *mapped)
    for path in (folder / "sheet.csv", folder / "map.toml", folder / "odd.csv.gz"):
        path.unlink()
    done = program.json("reduce", "--again")
    assert [flight["outcome"] for flight in done["flights"]] == ["alike", "alike"]
    assert len(done["points"]) == 5


@pytest.mark.long
def test_a_list_of_legs_is_used_again_and_kept(program: Program, log: Path, folder: Path) -> None:
    text = program.output("reduce", log, "--preview", "--format", "csv", "--rows", "legs")
    (folder / "legs.csv").write_text(text)
    program.output("reduce", log, *WHO, "--legs", folder / "legs.csv")
    (folder / "legs.csv").unlink()
    assert outcomes(program.json("reduce", log, "--again")) == ["alike"] * 3
    before = rows(program)["sortie"]
    warmer = folder / "w.toml"
    warmer.write_text("[uncertainty]\nu_temperature_k = 3.0\n")
    program.output("reduce", log, "--again", "--settings", warmer, "--replace")
    (then,), (now,) = before, rows(program)["sortie"]
    settings = [next(json.loads(v) for v in row if str(v).startswith("{")) for row in (then, now)]
    assert settings[0]["choices"] == settings[1]["choices"]
    assert settings[1]["uncertainty"]["u_temperature_k"] == 3.0


@pytest.mark.long
def test_a_changed_setting_is_shown_and_not_stored_unless_told(
    program: Program, log: Path, warm: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    before, content = rows(program), folder_content(folder)
    done = program.json("reduce", log, "--again", "--settings", warm)
    assert outcomes(done) == ["changed"] * 3
    for point in done["points"]:
        assert point["kappa_after"] == pytest.approx(point["kappa_before"], abs=1e-9)
        assert point["u_kappa_after"] > 1.2 * point["u_kappa_before"]
        assert point["u_dvpc_kt_after"] > 1.2 * point["u_dvpc_kt_before"]
    text = program.output("reduce", log, "--again", "--settings", warm)
    assert "1 flight reduced again: 1 would change" in text
    assert "Nothing was stored" in text
    assert max(len(line) for line in text.splitlines()) <= 120
    assert folder_content(folder) == content
    told = program.json("reduce", log, "--again", "--settings", warm, "--replace")
    assert [flight["outcome"] for flight in told["flights"]] == ["replaced"]
    stored = [point["u_kappa"] for point in program.json("points", "list")["points"]]
    assert stored == [point["u_kappa_after"] for point in told["points"]]
    assert program.json("store", "check")["faults"] == []
    assert outcomes(program.json("reduce", log, "--again")) == ["alike"] * 3
    program.output("undo")
    assert rows(program) == before


@pytest.mark.long
def test_what_somebody_decided_stays_with_the_run_and_what_goes_is_told(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    program.output("points", "reject", "2", "--reason", "loose")
    program.output("points", "reject", "3", "--reason", "wet")
    done = program.json("reduce", "--again", "--keep", "2", "--replace")
    told = {point["number_before"]: point for point in done["points"]}
    # alone it is another and less sure, as the other runs do not tell any more what wind it had
    assert [told[i]["outcome"] for i in (1, 2, 3)] == ["goes", "changed", "goes"]
    assert told[2]["kappa_after"] != told[2]["kappa_before"]
    moved = abs(told[2]["kappa_after"] - told[2]["kappa_before"])
    assert moved < 0.5 * told[2]["u_kappa_before"]
    assert told[2]["u_kappa_after"] > told[2]["u_kappa_before"]
    assert told[2]["number_after"] == 2
    assert told[2]["decision"] == "kept: rejected (loose)"
    assert told[3]["decision"] == "goes: rejected (wet)"
    assert told[1]["decision"] == ""
    (point,) = program.json("points", "list")["points"]
    assert (point["accepted"], point["reason"]) == (False, "loose")
    back = program.json("reduce", "--again", "--keep", "1", "--keep", "2", "--replace")
    assert sorted(outcomes(back)) == ["appears", "changed"]
    stored = program.json("points", "list")["points"]
    assert [point["reason"] for point in stored] == ["", "loose"]


@pytest.mark.long
def test_a_power_that_was_noted_stays_with_the_run(program: Program, log: Path, warm: Path) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    program.output("power", "2", "--power-pct", "65")
    program.output("power", "3", "--power-pct", "75", "--note", "from the chart")
    before = rows(program)
    program.output("reduce", "--again", "--settings", warm, "--replace")
    with opened(program.store) as connection:
        found = connection.execute(
            "SELECT p.number, c.power_pct, c.note, c.noted_at FROM cruise_power c"
            " JOIN calibration_point p ON p.id = c.calibration_point_id ORDER BY p.number"
        ).fetchall()
    noted = [row[-2] for row in before["cruise_power"]]  # the last one is the doubt
    assert found == [(2, 65.0, "", noted[0]), (3, 75.0, "from the chart", noted[1])]
    program.output("undo")
    assert rows(program) == before


@pytest.mark.long
def test_what_nobody_decided_follows_the_reduction(
    program: Program, folder: Path, warm: Path
) -> None:
    log = folder / "few.csv"
    log.write_text(log_text(fly(Card(airspeeds_kt=(90.0, 110.0)), Truth(kappa=0.05), seed=4)))
    program.output("reduce", log, *WHO)
    change(program.store, "UPDATE calibration_point SET accepted = false, reason = 'old rule'")
    done = program.json("reduce", log, "--again", "--replace")
    assert [(p["accepted_before"], p["accepted_after"]) for p in done["points"]] == [
        (False, True)
    ] * 2
    assert all(point["accepted"] for point in program.json("points", "list")["points"])


@pytest.mark.long
def test_choices_by_number_are_not_laid_on_other_legs(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO, "--drop", "2:3")
    other = folder / "other.toml"
    other.write_text("[legs]\nsettle_s = 5.0\n")
    before = rows(program)
    result = program.run("reduce", log, "--again", "--settings", other, "--replace")
    assert result.exit_code == 3, result.stdout
    assert "legs were left out by hand" in result.stdout
    assert rows(program) == before
    again = ("--again", "--settings", other, "--keep", "1", "--replace")
    assert "1 replaced" in program.output("reduce", log, *again)


@pytest.mark.long
def test_one_log_that_fails_does_not_stop_the_others(
    program: Program, log: Path, folder: Path, warm: Path
) -> None:
    second = folder / "second.csv"
    second.write_text(log_text(fly(truth=Truth(roughness=1.0), seed=8)))
    for path in (log, second):
        program.output("reduce", path, *WHO, "--keep-log")
    change(program.store, "UPDATE log_piece SET packed = ? WHERE kept_log_id = 1", (b"\0",))
    first = rows(program)["leg"][:12]
    result = program.run("reduce", "--again", "--settings", warm, "--replace")
    assert result.exit_code == 3
    assert "flight.csv: stays as it is: the log flight.csv that is kept is damaged" in result.stdout
    assert "second.csv: replaced" in result.stdout
    assert rows(program)["leg"][:12] == first
    done = program.json("reduce", "second.csv", "--again")
    assert outcomes(done) == ["alike"] * 3


@pytest.mark.long
def test_a_failure_at_the_end_leaves_every_flight_as_it_was(
    program: Program, log: Path, folder: Path, warm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = folder / "second.csv"
    second.write_text(log_text(fly(truth=Truth(roughness=1.0), seed=8)))
    for path in (log, second):
        program.output("reduce", path, *WHO, "--keep-log")
    before, calls = folder_content(folder), []

    def fail_the_second_time(*given: object) -> None:
        calls.append(given)
        if len(calls) == 2:
            raise RuntimeError("power cut")

    monkeypatch.setattr(replace_flight, "keep_replaced", fail_the_second_time)
    with pytest.raises(RuntimeError, match="power cut"):
        program.run("reduce", "--again", "--settings", warm, "--replace")
    assert len(calls) == 2
    assert folder_content(folder) == before


KILLED = """
import os, sys
from fleetcal.cli import main
from fleetcal.store.exchange import replace_flight
from fleetcal.store.models import Base
replace_flight.keep_replaced = lambda *given: os.kill(os.getpid(), 9)
main(sys.argv[1:])
"""


@pytest.mark.long
def test_a_replacing_that_is_killed_leaves_the_store_whole(
    program: Program, log: Path, warm: Path
) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    before = rows(program)
    words = ["--store", program.store, "reduce", "--again", "--settings", str(warm), "--replace"]
    done = subprocess.run(
        [sys.executable, "-c", KILLED, *words],
        check=False,
        env={**os.environ, "PYTHONPATH": str(Path(fleetcal.__file__).parents[1])},
    )
    assert done.returncode == -9
    assert rows(program) == before
    assert "1 replaced" in program.output("reduce", "--again", "--settings", warm, "--replace")


@pytest.mark.long
def test_another_store_sees_which_reduction_came_later_and_keeps_its_own_decision(
    program: Program, log: Path, folder: Path, warm: Path
) -> None:
    other = Program(begun_at(folder / "other.sqlite3"))
    program.output("reduce", log, *WHO)
    program.output("share", "--out", folder / "before.json")
    other.output("merge", folder / "before.json")
    other.output("points", "reject", "2", "--reason", "gusts")
    program.output("reduce", log, "--again", "--settings", warm, "--replace")
    program.output("share", "--out", folder / "after.json")
    done = other.json("merge", folder / "after.json")
    assert (done["corrected"], done["conflicts"]) == (1, [])
    mine = [p["u_kappa"] for p in program.json("points", "list")["points"]]
    theirs = other.json("points", "list")["points"]
    assert [p["u_kappa"] for p in theirs] == mine
    assert [p["reason"] for p in theirs] == ["", "gusts", ""]
    late = other.json("merge", folder / "before.json")
    assert (late["corrected"], late["conflicts"]) == (0, [])
    other.output("share", "--out", folder / "back.json")
    assert program.json("merge", folder / "back.json")["conflicts"] == []
    reasons = [p["reason"] for p in program.json("points", "list")["points"]]
    assert reasons == ["", "gusts", ""]


@pytest.mark.long
def test_climbs_and_the_log_stay_with_the_flight(program: Program, log: Path, warm: Path) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    change(
        program.store,
        "INSERT INTO climb_measurement (sortie_id, number, kind, power_state, flap_setting,"
        " weight_kg, vic_kt, pressure_altitude_ft, oat_degc, indicated_rate_ftmin, rate_ftmin,"
        " u_own_ftmin, u_shared_ftmin, thrust_rate_ftmin, ways, accepted, reason, decided_at,"
        " added_at) VALUES (1, 1, 'glide', 'idle', 'up', 590, 70, 4000, 9, -600, -610, 10, 2,"
        " 0, 2, true, '', '2024-05-06', '2024-05-06')",
    )
    before = rows(program)
    program.output("reduce", "--again", "--settings", warm, "--replace")
    for table in ("climb_measurement", "kept_log", "log_piece", "source_file"):
        assert rows(program)[table] == before[table]
    program.output("undo")
    assert rows(program) == before


@pytest.mark.long
def test_a_bench_check_entered_since_counts(program: Program, log: Path, folder: Path) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    (folder / "asi.csv").write_text("indicated_kt,correction_kt\n40,1.0\n90,1.0\n150,1.0\n")
    check = ("--airframe", "C-01", "--date", "2024-03-01", "--u-kt", "0.5")
    program.output("bench", "enter", "airspeed", folder / "asi.csv", *check)
    done = program.json("reduce", "--again")
    assert outcomes(done) == ["changed"] * 3
    program.output("reduce", "--again", "--replace")
    assert outcomes(program.json("reduce", "--again")) == ["alike"] * 3
    program.output("bench", "withdraw", "airspeed", "1", "--reason", "wrong")
    done = program.json("reduce", "--again", "--replace")
    assert [p["kappa_after"] for p in done["points"]] != [p["kappa_before"] for p in done["points"]]


@pytest.mark.long
def test_flights_are_chosen_by_airframe_sortie_and_file(
    program: Program, log: Path, folder: Path
) -> None:
    second = folder / "second.csv"
    second.write_text(log_text(fly(truth=Truth(roughness=1.0), seed=8)))
    program.output("reduce", log, *WHO, "--keep-log")
    assert_explained(program.run("reduce", second, "--again"), 35, "no stored flight matches")
    program.output("reduce", second, "--airframe", "C-02", "--weight-kg", "580")

    def sorties(*words: object) -> list[int]:
        return [flight["sortie_id"] for flight in program.json("reduce", *words)["flights"]]

    assert sorties("--again") == [1]
    assert sorties("--again", "--sortie", "1") == [1]
    assert sorties(second, "--again") == [2]
    assert sorties("flight.csv", "--again") == [1]
    result = program.run("reduce", "--again", "--airframe", "C-02")
    assert_explained(result, 3, "no log of the 1 flights is kept")
    for words, code in (
        (("--again", "--airframe", "C-99"), 35),
        (("--again", "--sortie", "7"), 35),
        (("nix.csv", "--again"), 35),
    ):
        assert program.run("reduce", *words).exit_code == code
    program.output("logs", "keep", second)
    assert sorties("--again") == [1, 2]
    result = program.run("reduce", "--again", "--weight-kg", "600")
    assert_explained(result, 3, "weight_kg cannot be the same for 2 flights")


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("flight.csv", "--sortie", "1"),
        ("flight.csv", "--preview", "--replace"),
        ("--again", "--out", "x.svg"),
        ("--again", "--keep-log"),
        ("--again", "--preview", "--replace"),
        ("--again", "--drop", "1:1", "--solve-by", "manoeuvres"),
    ],
    ids=" ".join,
)
def test_options_that_do_not_go_together_are_a_usage_error(
    program: Program, words: tuple[str, ...]
) -> None:
    result = program.run("reduce", *words)
    assert result.exit_code == 2
    assert result.stdout == ""


@pytest.mark.long
def test_what_was_once_supposed_of_instruments_is_not_taken_for_asked(
    program: Program, log: Path
) -> None:
    # Before tolerances 0.3 kt and 20 ft were written with every flight, whoever asked.
    program.output("reduce", log, *WHO, "--keep-log")
    settings = json.loads(_settings(program))
    assert "u_airspeed_kt" not in settings["uncertainty"]
    del settings["temperature"]
    settings["uncertainty"] |= {"u_airspeed_kt": 0.3, "u_altitude_ft": 15.0}
    change(program.store, "UPDATE sortie SET settings_json = ?", (json.dumps(settings),))
    program.output("reduce", "--again", "--replace")
    kept = json.loads(_settings(program))["uncertainty"]
    assert "u_airspeed_kt" not in kept
    assert kept["u_altitude_ft"] == 15.0


def _settings(program: Program) -> str:
    with opened(program.store) as connection:
        (row,) = connection.execute("SELECT settings_json FROM sortie").fetchall()
    return str(row[0])
