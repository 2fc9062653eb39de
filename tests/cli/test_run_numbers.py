"""A point has the number of its run, also where runs before it could not be solved."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from fleetcal.store.term_owners import as_older, owner_of_older
from tests.cli.command_line import Program
from tests.cli.level_off_log import FLOWN, SOLVED, level_off_log
from tests.older_store import step
from tests.store_places import change, copy_store, opened

WHO = ("--airframe", "C-01", "--weight-kg", "580")


@pytest.fixture(scope="session")
def level_off_text() -> str:
    """A log with a run that cannot be solved first, in the middle and last."""
    return level_off_log()


@pytest.fixture
def log(folder: Path, level_off_text: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(level_off_text)
    return path


def numbers(program: Program) -> dict[int, int]:
    """Numbers of the points, by point."""
    with opened(program.store) as connection:
        return dict(connection.execute("SELECT id, number FROM calibration_point").fetchall())


def leg_runs(program: Program) -> list[int]:
    with opened(program.store) as connection:
        rows = connection.execute("SELECT DISTINCT run_number FROM leg ORDER BY 1").fetchall()
    return [number for (number,) in rows]


def powers(program: Program) -> dict[int, float]:
    """Power by airspeed, of runs that cruise may use."""
    found = program.json("points", "list", "--quantity", "cruise")["runs"]
    speeds = {p["point_id"]: round(p["vic_kt"]) for p in program.json("points", "list")["points"]}
    return {speeds[run["point"]]: run["power_pct"] for run in found if not run["why_not"]}


def as_a_former_version_left_it(program: Program, *, noted: bool = True) -> None:
    """Count points over the solved runs, and note the power of the run with that number."""
    old = {point: i for i, point in enumerate(sorted(numbers(program)), 1)}
    for point, number in old.items():
        change(
            program.store, "UPDATE calibration_point SET number = ? WHERE id = ?", (number, point)
        )
    for point, number in old.items():
        if noted and number in SOLVED:
            program.output("power", point, "--power-pct", SOLVED[number])
            change(program.store, "UPDATE cruise_power SET origin = 'log', note = 'Power (%)'")


def at_the_former_revision(program: Program, *, noted: bool = True) -> None:
    as_a_former_version_left_it(program, noted=noted)
    step(program.store, "downgrade", "0010")


def test_points_and_legs_have_the_numbers_of_the_runs_that_were_shown(
    program: Program, log: Path
) -> None:
    shown = program.json("reduce", log, *WHO)
    assert [run["run"] for run in shown["runs"]] == list(SOLVED)
    assert [run["run"] for run in shown["refused"]] == [1, 3, 5]
    assert list(numbers(program).values()) == list(SOLVED) == leg_runs(program)
    assert "The store has no faults" in program.output("store", "check")


def test_the_power_of_a_run_is_read_over_its_own_legs(program: Program, log: Path) -> None:
    program.output("reduce", log, *WHO)
    told = program.json("power", "--log", log)
    assert [run["power_pct"] for run in told["runs"]] == pytest.approx(list(SOLVED.values()))
    speeds = {round(speed): power for speed, legs, power in FLOWN if legs > 1}
    assert powers(program) == pytest.approx(speeds)


@pytest.mark.long
def test_the_sortie_page_draws_the_vectors_of_a_run_about_its_own_circle(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    program.run("publish", "--site", "--out", folder / "site")
    (page,) = (folder / "site" / "sorties").glob("*.html")
    text = page.read_text()
    drawn = re.findall(r'<figure class="vectors">.*?</figure>', text, flags=re.DOTALL)
    said = [re.findall(r"<figcaption>(Run .*?) kt", figure)[0] for figure in drawn]
    assert said == ["Run 2: 4 legs at 120", "Run 4: 4 legs at 75"]
    for figure in drawn:
        assert tips_off_the_circle(figure) < 0.02


@pytest.mark.long
def test_the_tips_of_the_vectors_have_the_numbers_of_their_legs(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO, "--drop", "2:2")
    program.run("publish", "--site", "--out", folder / "site")
    (page,) = (folder / "site" / "sorties").glob("*.html")
    first = page.read_text().split('<figure class="vectors">')[1]
    assert re.findall(r'class="leg-name"[^>]*>(\d)[:<]', first) == ["1", "3", "4"]


def tips_off_the_circle(figure: str) -> float:
    """Return how far the tips of the vectors lie off the circle, as a share of its radius."""
    found = re.findall(r'<circle class="([\w-]+)" cx="(.*?)" cy="(.*?)" r="(.*?)"/>', figure)
    circles = [(name, *map(float, values)) for name, *values in found]
    ((_, x, y, radius),) = (circle for circle in circles if circle[0] == "circle")
    tips = [(one[1], one[2]) for one in circles if one[0] == "leg-tip"]
    assert len(tips) == 4
    return float(max(abs(math.dist(tip, (x, y)) / radius - 1.0) for tip in tips))


@pytest.mark.long
def test_reducing_again_finds_the_same_runs_and_changes_nothing(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    program.output("points", "reject", 2, "--reason", "gusts")
    done = program.json("reduce", "--again")
    assert [(p["number_before"], p["number_after"]) for p in done["points"]] == [(2, 2), (4, 4)]
    assert [p["outcome"] for p in done["points"]] == ["alike", "alike"]
    assert "kept: rejected (gusts)" in done["points"][1]["decision"]


@pytest.mark.long
def test_a_leg_sheet_and_a_list_of_legs_number_points_by_run(
    program: Program, log: Path, folder: Path
) -> None:
    lines = [(1, 90, 3000, 100, 10), (1, 90, 3000, 101, 20)]  # two legs are no run
    lines += [(2, 130, 3000, 121, 262), (2, 130, 3000, 146, 172), (2, 130, 3000, 171, 82)]
    heading = "run,ias_kt,pressure_altitude_ft,oat_degc,ground_speed_kt,track_deg\n"
    cells = (f"{run},{ias},{alt},9,{speed},{track}" for run, ias, alt, speed, track in lines)
    (folder / "sheet.csv").write_text(heading + "\n".join(cells) + "\n")
    program.output("reduce", folder / "sheet.csv", *WHO, "--date", "2024-05-01")
    assert list(numbers(program).values()) == [2] == leg_runs(program)
    text = program.output("reduce", log, "--preview", "--format", "csv", "--rows", "legs")
    kept = [line for line in text.splitlines() if not line.startswith(("1,", "3,", "5,"))]
    (folder / "legs.csv").write_text("\n".join(kept) + "\n")
    program.output("reduce", log, *WHO, "--legs", folder / "legs.csv")
    assert list(numbers(program).values()) == [2, 2, 4]
    assert "The store has no faults" in program.output("store", "check")


@pytest.mark.long
def test_an_older_store_is_mended_and_says_which_powers_were_of_another_run(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO, "--keep-log")
    log.unlink()
    at_the_former_revision(program)
    assert list(numbers(program).values()) == [1, 2]
    done = program.run("points", "list", "--quantity", "cruise", "--format", "json")
    assert done.exit_code == 0, done.stderr
    assert list(numbers(program).values()) == [2, 4]
    mended, doubtful, ownerless = done.stderr.splitlines()
    assert "nobody owns the airframes" in ownerless
    assert mended.startswith("Upgrade of the store: 2 points of 1 sortie ")
    assert "the power of point 2 (sortie 1 of C-01 on 2024-05-02)" in doubtful
    assert "read from the log over run 2, and the point is of run 4" in doubtful
    (run,) = json.loads(done.stdout)["runs"]
    assert (run["power_pct"], run["piw_pct"]) == (72.0, None)
    assert "its power is doubtful: it was read from the log over run 2" in run["why_not"]
    checked = program.run("store", "check")
    assert checked.exit_code == 4
    assert "power --log flight.csv" in checked.stdout
    assert (
        program.run("points", "list", "--quantity", "cruise").stderr == ""
    )  # the upgrade is told once
    told = program.json("power", "--log", "flight.csv")  # the log that is kept
    assert [run["power_pct"] for run in told["runs"]] == pytest.approx([72.0, 38.0])
    assert powers(program) == pytest.approx({120: 72.0, 75: 38.0})
    # The air of the legs was lost on the way back to the former revision; nothing else is wrong.
    found = json.loads(program.run("store", "check", "--format", "json").stdout)
    assert all("kappa" in fault["what"] for fault in found["faults"])


@pytest.mark.long
def test_a_power_noted_by_hand_stays_with_its_point_through_the_upgrade(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO)
    at_the_former_revision(program)
    change(program.store, "UPDATE cruise_power SET origin = 'hand', power_pct = 41.0")
    assert "doubtful" not in program.output("points", "list", "--quantity", "cruise")
    assert powers(program) == {75: 41.0}


@pytest.mark.long
def test_where_the_legs_do_not_tell_the_run_the_upgrade_and_the_check_name_the_flight(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    at_the_former_revision(program)
    change(program.store, "UPDATE leg SET vic_kt = vic_kt + 3")
    done = program.run("points", "list")
    named, doubtful, owners = done.stderr.splitlines()
    assert "nobody owns the airframes of this store yet" in owners
    assert (
        "sortie 1 of C-01 on 2024-05-02: its stored legs do not show which run each point is"
        in named
    )
    assert "reduce flight.csv --again --replace" in named
    assert "the power of point 2" in doubtful
    assert list(numbers(program).values()) == [1, 2]
    checked = program.run("store", "check")
    assert checked.exit_code == 4
    assert "point 1 of C-01" in checked.stdout
    assert "point 2 of C-01" in checked.stdout
    told = program.json("power", "--log", log)
    assert {run["why_not"] for run in told["runs"]} == {
        "the stored legs do not show which run it is; reduce the log again"
    }
    program.run("publish", "--site", "--out", folder / "site")
    (page,) = (folder / "site" / "sorties").glob("*.html")
    assert 'class="vectors"' not in page.read_text()
    program.output("reduce", log, "--again", "--replace")
    assert list(numbers(program).values()) == [2, 4]
    program.output("power", "--log", log)
    assert powers(program) == pytest.approx({120: 72.0, 75: 38.0})


@pytest.mark.long
def test_the_check_finds_a_point_whose_number_is_that_of_another_run(
    program: Program, log: Path
) -> None:
    program.output("reduce", log, *WHO)
    as_a_former_version_left_it(program, noted=False)
    done = program.run("store", "check", "--format", "json")
    assert done.exit_code == 4
    faults = {fault["where"]: fault["what"] for fault in json.loads(done.stdout)["faults"]}
    mends = "'fleetcal reduce flight.csv --again --replace' mends it"
    assert "changed past the program" in faults.pop("sortie 1 of C-01 on 2024-05-02")
    assert faults == {
        "point 1 of C-01": f"its number is that of run 1, and its legs are those of run 2; {mends}",
        "point 2 of C-01": f"its number is that of run 2, and its legs are those of run 4; {mends}",
    }
    program.output("reduce", log, "--again", "--replace")
    assert "The store has no faults" in program.output("store", "check")


def without_what_is_new(program: Program) -> None:
    """Leave out of stored flights what a former version did not know of them."""
    change(program.store, "UPDATE leg SET recovery_factor = NULL, humidity_pct = NULL")
    with opened(program.store) as connection:
        terms = connection.execute("SELECT id, name, owner FROM uncertainty_term").fetchall()
    for row, name, owner in terms:
        then = owner_of_older(name, owner != "point")
        if then != owner:
            statement = "UPDATE uncertainty_term SET owner = ? WHERE id = ?"
            change(program.store, statement, (then, row))


def former_share(program: Program, folder: Path, version: int = 2) -> Path:
    """A share file as a former version wrote it, from a store as it left it."""
    path = folder / f"former-{version}.json"
    program.output("share", "--out", path)
    document = json.loads(path.read_text())
    contents = document["contents"]
    del contents["things"]["thermometer"], contents["signed_by"], contents["owners"]
    del document["signature"]
    if version == 1:
        del contents["logs"], contents["things"]["climbs"], contents["things"]["cruise_table"]
    for entry in contents["things"]["flights"]:
        for point in (p for sortie in entry["content"]["sorties"] for p in sortie["points"]):
            point["terms"] = [as_older(term) for term in point["terms"]]
        for state in entry["state"]["sorties"]:
            for power in filter(None, state["powers"]):
                del power["doubt"]
            if version == 1:
                del state["powers"]
    path.write_text(with_checksum({**document, "version": version}))
    return path


def with_checksum(document: dict[str, Any]) -> str:
    from hashlib import sha256

    text = json.dumps(document["contents"], sort_keys=True, separators=(",", ":"))
    return json.dumps({**document, "sha256": sha256(text.encode()).hexdigest()})


@pytest.mark.long
@pytest.mark.parametrize("version", [1, 2])
def test_a_share_file_of_a_former_version_is_mended_as_it_is_read(
    program: Program, log: Path, folder: Path, begun_file: str, version: int
) -> None:
    program.output("reduce", log, *WHO)
    without_what_is_new(program)
    new = Program(copy_store(program.store, folder / "new.sqlite3"))
    as_a_former_version_left_it(program)
    share = former_share(program, folder, version)
    empty = Program(copy_store(begun_file, folder / "empty.sqlite3"))
    told = empty.output("merge", share, "--take", "theirs")  # nobody signed it
    assert ("left out of cruise: it was read from the log over run 2" in told) == (version == 2)
    assert list(numbers(empty).values()) == [2, 4]
    runs = empty.json("points", "list", "--quantity", "cruise")["runs"]
    doubts = ["its power is doubtful: it was read from the log over run 2, and the point is of"]
    assert [run["why_not"][: len(doubts[0])] for run in runs] == doubts[: version - 1]
    # The same flight, reduced by this version: it is the same thing.
    merged = new.json("merge", share, "--take", "mine")
    assert merged["corrected"] == merged["added"] == 0
    decided = [conflict["theirs"] for conflict in merged["conflicts"]]
    assert decided == (["1 given another power"] if version == 2 else [])
    assert list(numbers(new).values()) == [2, 4]


@pytest.mark.long
def test_a_flight_that_replaced_one_with_former_numbers_still_does_so(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    without_what_is_new(program)
    as_a_former_version_left_it(program, noted=False)
    other = Program(copy_store(program.store, folder / "other.sqlite3"))
    (folder / "warm.toml").write_text("[uncertainty]\nu_temperature_k = 3.0\n")
    # Reduced again in one store, before its upgrade, so that it knows the former contents.
    program.output("reduce", log, "--again", "--settings", folder / "warm.toml", "--replace")
    without_what_is_new(program)
    share = former_share(program, folder)
    for point, number in [*zip(sorted(numbers(other)), SOLVED, strict=True)][::-1]:
        change(other.store, f"UPDATE calibration_point SET number = {number} WHERE id = {point}")
    listed = other.json("merge", share, "--preview")
    assert [conflict["what"].split(";")[0].split(": ")[1] for conflict in listed["conflicts"]] == [
        "said otherwise by nobody who signed"
    ]
    merged = other.json("merge", share, "--take", "theirs")
    assert (merged["corrected"], len(listed["conflicts"])) == (1, 1)
    # And the other way: the file of a former store brings back nothing that was replaced here.
    back = former_share(other, folder, 1)
    assert program.json("merge", back)["corrected"] == 0


@pytest.mark.long
def test_taking_back_what_a_former_version_replaced_gives_run_numbers(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, *WHO)
    as_a_former_version_left_it(program)
    (folder / "warm.toml").write_text("[uncertainty]\nu_temperature_k = 3.0\n")
    program.output("reduce", log, "--again", "--settings", folder / "warm.toml", "--replace")
    program.output("undo")
    assert sorted(numbers(program).values()) == [2, 4]
    assert "over run 2, and the point is of run 4" in program.output(
        "points", "list", "--quantity", "cruise"
    )
    assert program.run("store", "check").exit_code == 4  # for the power, and nothing else
