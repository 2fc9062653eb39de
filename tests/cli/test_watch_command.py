"""The watch on one airframe: verdict, table, marks, figure, and what it refuses."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_season import FlownFlights, fleet_toml, points_csv
from tests.store_places import begun_at

pytestmark = pytest.mark.any_store("reads by queries that other tests send")

SEASONS = (
    FlownFlights(tag="C-01", older=6),
    FlownFlights(tag="C-02", steps=((9, 3.0),)),
    FlownFlights(tag="C-03", flights=20, steps=((7, -3.0), (15, 3.0))),
    FlownFlights(tag="C-04", off=((14, 5.0),)),
    FlownFlights(tag="C-05", flights=16, steps=((9, 3.0),), propeller_changed=True),
    FlownFlights(tag="C-06", flights=3),
    FlownFlights(tag="C-07", flights=1),
    FlownFlights(tag="C-08", flights=0, older=2),
)


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """The program on a store with eight airframes, which no test here changes."""
    folder = tmp_path_factory.mktemp("season")
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml(SEASONS), encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(SEASONS), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


def first_line(text: str) -> str:
    return text.splitlines()[0]


def test_a_season_without_a_change_is_answered_in_one_sentence(season: Program) -> None:
    assert first_line(season.output("watch", "C-01")) == (
        "C-01's airspeed error has not changed over its 14 flights since 2024-03-10: no step is "
        "larger than chance makes in 1 of 200 such series."
    )


def test_a_step_is_answered_with_size_band_and_the_flights_around_it(season: Program) -> None:
    text = season.output("watch", "C-02")
    assert first_line(text).startswith("C-02 reads 2.")
    assert "kt slower at 90 kt since between 2024-04-28 (flight 8) and 2024-05-05 (flight 9)" in (
        first_line(text)
    )
    assert first_line(text).endswith("look for a leak, a touched static line or a repainted port.")
    found = season.json("watch", "C-02")
    (change,) = found["changes"]
    assert [row["ias_kt"] for row in change["sizes"]] == sorted(
        row["ias_kt"] for row in change["sizes"]
    )
    for row in change["sizes"]:  # 3 kt at 100 kt, as a static leak: in proportion to airspeed
        assert row["low_kt"] < 3.0 * row["ias_kt"] / 100.0 < row["high_kt"]
    assert change["raised_on"] <= "2024-06-02"  # within five flights


def test_a_leak_and_its_repair_are_two_changes(season: Program) -> None:
    found = season.json("watch", "C-03")
    assert [one["first_flight_after"] for one in found["changes"]] == [7, 15]
    assert [one["sizes"][1]["change_kt"] < 0.0 for one in found["changes"]] == [True, False]
    assert "changed 2 times over its 20 flights" in found["verdict"]
    text = season.output("watch", "C-03")
    assert text.count("Correction from flight") == 2


def test_one_flight_that_is_off_is_marked_and_not_yet_a_change(season: Program) -> None:
    found = season.json("watch", "C-04")
    assert found["outcome"] == "unchanged"
    assert [one["flight"] for one in found["flights"] if one["mark"]] == [14]
    assert found["flights"][-1]["mark"] == "off by itself"
    assert any("one flight is not yet a change; fly another" in note for note in found["notes"])


def test_a_change_where_equipment_was_changed_is_put_down_to_that(season: Program) -> None:
    found = season.json("watch", "C-05")
    (change,) = found["changes"]
    assert change["known_change"] == "it got a new propeller on 2024-05-01"
    assert "'fleetcal change C-05 --before ..2024-04-28 --after 2024-05-05..'" in found["hints"][-1]
    assert found["verdict"].endswith("it got a new propeller on 2024-05-01")
    assert found["flights"][8]["mark"] == "new propeller; changed"
    compared = season.json(
        *("change", "C-05", "--before", "..2024-04-28", "--after", "2024-05-05..")
    )
    assert compared["differ"] is True


@pytest.mark.parametrize(("tag", "flights"), [("C-06", "its 3 flights are"), ("C-07", "its 1 f")])
def test_too_few_flights_are_drawn_and_not_judged(
    tag: str, flights: str, season: Program, tmp_path: Path
) -> None:
    figure = tmp_path / "watch.svg"
    text = season.output("watch", tag, "--out", figure)
    assert first_line(text).startswith(f"{tag}: {flights}")
    assert first_line(text).endswith("too few to tell whether its airspeed error changed; 5 are "
                                     "needed.")  # fmt: skip
    assert figure.read_bytes().startswith(b"<?xml")
    found = season.json("watch", tag)
    assert (found["outcome"], found["p_value"], found["changes"]) == ("too few flights", None, [])


def test_another_static_source_is_another_series(season: Program) -> None:
    now, before = (
        season.json("watch", "C-01", *words) for words in ((), ("--static-source", "FUSELAGE side"))
    )
    assert (now["static_source"], len(now["flights"])) == ("wing boom", 14)
    assert (before["static_source"], len(before["flights"])) == ("fuselage side", 6)
    assert before["outcome"] == "unchanged"
    text = season.output("watch", "C-01")
    assert "other static sources: 'fleetcal change C-01'." in text


def test_what_cannot_be_watched_is_explained(season: Program, tmp_path: Path) -> None:
    assert_explained(season.run("watch", "C-99"), 35, "C-99")
    nowhere = season.run("watch", "C-01", "--static-source", "roof")
    assert_explained(nowhere, 35, "C-01 never had a static source 'roof'")
    assert_explained(season.run("watch", "C-08"), 5, "C-08", "since its wing boom was fitted")
    flaps = season.run("watch", "C-01", "--flap-setting", "half")
    assert_explained(flaps, 5, "no accepted points with flaps half")
    picture = season.run("watch", "C-01", "--out", tmp_path / "watch.gif")
    assert picture.exit_code == 2
    assert not (tmp_path / "watch.gif").exists()


@pytest.mark.parametrize(("tag", "code"), [("C-01", 0), ("C-02", 6), ("C-04", 0), ("C-06", 0)])
def test_a_script_can_fail_on_a_change(tag: str, code: int, season: Program) -> None:
    assert season.run("watch", tag, "--fail-if-changed").exit_code == code


@pytest.mark.parametrize("tag", ["C-01", "C-02", "C-03", "C-05", "C-07"])
def test_table_csv_and_json_tell_the_same(tag: str, season: Program) -> None:
    found = season.json("watch", tag)
    assert (found["kind"], found["format_version"]) == ("watch", 1)
    text = season.output("watch", tag)
    assert season.output("watch", tag) == text
    assert found["verdict"] in text
    whole = season.output("watch", tag, "--details")
    assert all(sentence in whole for sentence in found["caution"])
    table = list(csv.DictReader(io.StringIO(season.output("watch", tag, "--format", "csv"))))
    assert [row["flown_on"] for row in table] == [row["flown_on"] for row in found["flights"]]
    lines = text.split("\n\n")[2].splitlines()
    assert len([one for one in lines if re.match(r" *\d", one)]) == len(found["flights"])
    assert max(map(len, lines)) <= 80
    check_flights(found)


def check_flights(found: dict[str, Any]) -> None:
    for row in found["flights"]:
        assert row["low_kt"] < row["from_own_kt"] < row["high_kt"]
        if row["allowed_low_kt"] is not None:
            inside = row["allowed_low_kt"] < row["from_own_kt"] < row["allowed_high_kt"]
            assert inside != ("off by itself" in row["mark"])
    days = [row["flown_on"] for row in found["flights"]]
    assert days == sorted(days)


def test_rejected_points_leave_the_series_and_are_named(season: Program, tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    only = (FlownFlights(tag="C-01", flights=6),)
    (tmp_path / "fleet.toml").write_text(fleet_toml(only), encoding="utf-8")
    (tmp_path / "points.csv").write_text(points_csv(only), encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    points = program.json("points", "list")["points"]
    gone = [str(p["point_id"]) for p in points if p["flown_on"] == "2024-03-10"]
    program.output("points", "reject", *gone, "--reason", "leg in a thermal")
    text = program.output("watch", "C-01")
    assert "over its 5 flights since 2024-03-17" in first_line(text)
    assert f"Left out: {len(gone)} points of C-01: leg in a thermal." in text
    assert "Model: kappa a quadratic" in program.output("watch", "C-01", "--details")
