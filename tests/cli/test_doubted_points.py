"""A doubtful point is kept, does not count, is named at once, and counts once somebody says so."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import TAIL, WING
from tests.cli.invented_sortie import Truth, fly, log_text
from tests.store_places import store_at

pytestmark = pytest.mark.long

HEADINGS = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"
FINE = "C-02,2024-06-05,580,90,3500,0.02,0.00001"


def bring_in(program: Program, folder: Path, *rows: str) -> str:
    """Import rows and return what was said to standard error."""
    path = folder / "odd.csv"
    path.write_text("\n".join([HEADINGS, *rows]) + "\n", encoding="utf-8")
    result = program.run("points", "import", path)
    assert result.exit_code == 0, result.stderr
    return result.stderr


def brought_in(program: Program) -> dict[str, object]:
    words = ("points", "list", "--airframe", "C-02", "--flown", "2024-06-05..2024-06-05")
    (row,) = program.json(*words)["points"]
    assert isinstance(row, dict)
    return row


def test_a_point_too_sure_of_itself_is_kept_and_does_not_count(
    flown: Program, folder: Path
) -> None:
    before = flown.json("curve", TAIL)["rows"]
    said = bring_in(flown, folder, FINE)
    assert "line 2 is not accepted: the uncertainty of kappa of 1e-05 is below 0.0005" in said
    assert "'fleetcal points accept NUMBER' lets it count" in said
    assert not brought_in(flown)["accepted"]
    assert flown.json("curve", TAIL)["rows"] == before


def test_somebody_who_accepts_a_doubtful_point_succeeds(flown: Program, folder: Path) -> None:
    before = flown.json("curve", TAIL)["rows"]
    bring_in(flown, folder, "C-02,2024-06-05,580,90,3500,0.70,0.02")
    number = brought_in(flown)["point_id"]
    flown.output("points", "accept", number)
    assert brought_in(flown)["accepted"]
    assert flown.json("curve", TAIL)["rows"] != before


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("C-02,2999-01-01,580,90,3500,0.02,0.008", "2999-01-01 is still to come"),
        ("C-02,2024-06-05,1279,90,3500,0.02,0.008", "are these pounds? 1279 lb is 580 kg"),
        ("C-02,2024-06-05,580,90,3500,0.02,1e-320", "1e-320 is not between 1e-12 and 10"),
    ],
)
def test_what_cannot_be_is_refused_at_the_edge(
    row: str, words: str, flown: Program, folder: Path
) -> None:
    (folder / "odd.csv").write_text(f"{HEADINGS}\n{row}\n", encoding="utf-8")
    result = flown.run("points", "import", folder / "odd.csv")
    assert result.exit_code != 0
    assert "line 2" in result.stderr
    assert words in result.stderr


def test_a_log_of_a_day_to_come_is_refused_and_says_what_to_do(
    program: Program, folder: Path
) -> None:
    (folder / "log.csv").write_text(log_text(fly(truth=Truth(kappa=0.05))), encoding="utf-8")
    result = program.run(
        *("reduce", folder / "log.csv", "--airframe", "C-02", "--date", "2999-01-01")
    )
    assert_explained(result, 36, "log.csv: 2999-01-01 is still to come")


def made_odd(store: str, name: str, value: float) -> int:
    """Write a value where no gate looks, as an older version may have, and return the point."""
    with closing(sqlite3.connect(store)) as rows:
        (number,) = rows.execute(
            "SELECT max(p.id) FROM calibration_point p JOIN sortie s ON s.id = p.sortie_id "
            "JOIN airframe a ON a.id = s.airframe_id WHERE a.tag = 'C-02'"
        ).fetchone()
        rows.execute(f"UPDATE calibration_point SET {name} = ? WHERE id = ?", (value, number))
        rows.commit()
    return int(number)


@pytest.mark.any_store("changes a file where no gate looks")
@pytest.mark.parametrize(
    ("name", "value"),
    [("weight_kg", 1.0), ("weight_kg", 1e308), ("u_kappa", 1e-12), ("u_kappa", 1e-320)],
)
def test_a_point_of_an_older_store_that_no_fit_can_use_is_named_and_the_others_answer(
    name: str, value: float, flown: Program, folder: Path
) -> None:
    number = made_odd(flown.store, name, value)
    named = f"point {number} of sortie"
    assert flown.json("curve", TAIL)["rows"]
    found = flown.output("curve", TAIL)
    assert named in found
    assert "cannot be used by any fit" in found
    assert named in flown.output("points", "budget", number)
    assert named in flown.output("standing", "C-02", "--details")
    assert flown.json("outliers")["airframes"]
    assert flown.json("curve", WING)["rows"]
    flown.output("publish", TAIL, "--out", folder / "pages", "--date", "2024-09-01")


@pytest.mark.any_store("changes a file where no gate looks")
def test_a_flight_before_the_airframe_had_any_equipment_stops_neither_site_nor_change(
    flown: Program, folder: Path
) -> None:
    with closing(sqlite3.connect(flown.store)) as rows:
        rows.execute("UPDATE sortie SET flown_on = '1975-05-05' WHERE id = 1")
        rows.commit()
    flown.output("publish", "--site", "--out", folder / "site", "--date", "2024-09-01")
    assert (folder / "site" / "index.html").is_file()
    tag = flown.json("points", "list")["points"][0]["airframe"]
    assert_explained(flown.run("change", tag), 5, tag)


@pytest.mark.any_store("changes a file where no gate looks")
def test_a_share_brings_a_doubtful_point_in_as_not_accepted_and_says_so(
    flown: Program, folder: Path
) -> None:
    bring_in(flown, folder, "C-02,2024-06-05,580,90,3500,0.02,0.008")
    number = brought_in(flown)["point_id"]
    with closing(sqlite3.connect(flown.store)) as rows:
        rows.execute("UPDATE calibration_point SET weight_kg = 1279 WHERE id = ?", (number,))
        rows.commit()
    assert brought_in(flown)["accepted"]
    flown.output("share", "--out", folder / "shared.json")
    other = Program(store_at(folder / "other.sqlite3"))
    said = other.output("merge", folder / "shared.json")
    assert "point 1 is not accepted: 1279 kg on a 600 kg type (Corrie 2): are these pounds?" in said
    assert not brought_in(other)["accepted"]
    assert other.json("merge", folder / "shared.json")["brought_up_to_date"] == 0
    other.output("points", "accept", brought_in(other)["point_id"])
    assert other.json("merge", folder / "shared.json")["brought_up_to_date"] == 0
    assert brought_in(other)["accepted"]


@pytest.mark.any_store("changes a file where no gate looks")
def test_a_point_that_keeps_the_others_from_a_fit_is_named_and_then_they_answer(
    flown: Program,
) -> None:
    number = made_odd(flown.store, "kappa", 1.4)
    for words in (("curve", TAIL), ("outliers",), ("curve", "C-02")):
        assert_explained(flown.run(*words), 5, f"point {number} stands farthest off, alone")
    flown.output("points", "reject", number, "--reason", "far off")
    assert flown.json("curve", TAIL)["rows"]
