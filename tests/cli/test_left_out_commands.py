"""Airframes outside their group are not in its curve, unless somebody keeps them in."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import MID, TAIL, WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at, copy_store

pytestmark = [
    pytest.mark.long,
    pytest.mark.any_store("judges numbers by queries that other tests send"),
]

#: C-03 carries the tail-boom pair and is off by several knots.
ODD = {"C-03": 0.16}
GROUPS = (Group(TAIL, 8, -0.05, 0.10), Group(WING, 6, 0.04, -0.12))
OUTSIDE = re.compile(r"[Ww]ithout C-03, which stands outside by [+-]\d+\.\d kt at 1\d0 kt")


def filled(folder: Path, tags_out: tuple[str, ...] = ()) -> Program:
    """Return the program on a store with the points of all airframes but some."""
    folder.mkdir(exist_ok=True)
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml(GROUPS), encoding="utf-8")
    points = points_csv(GROUPS, ODD, speeds_kt=(70.0, 95.0, 120.0)).splitlines()
    kept = [line for line in points if line.partition(",")[0] not in tags_out]
    (folder / "points.csv").write_text("\n".join(kept) + "\n", encoding="utf-8")
    book = "ias_kt,cas_kt\n60,66\n80,84\n100,101\n130,129\n"
    (folder / "book.csv").write_text(book, encoding="utf-8")
    (folder / "speeds.csv").write_text("speed,ias_kt\nglide,75\n", encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    entered = ("--name", "first", "--static-source", WING, "--speeds", folder / "speeds.csv")
    program.output("handbook", "enter", folder / "book.csv", *entered)
    return program


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """A store where one of eight airframes stands outside; no test changes it."""
    return filled(tmp_path_factory.mktemp("whole"))


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """The same without that airframe."""
    return filled(tmp_path_factory.mktemp("clean"), ("C-03",))


def rows(found: dict[str, Any]) -> list[list[float]]:
    """Return the numbers of the rows of a result."""
    (listed,) = (found[name] for name in ("rows", "speeds") if name in found)
    return [[v for v in row.values() if isinstance(v, float)] for row in listed]


@pytest.mark.parametrize(
    "words",
    [
        ("curve", TAIL),
        ("curve", WING),
        ("contrast", TAIL, WING),
        ("contrast", TAIL),
        ("handbook", "compare", TAIL),
        ("handbook", "compare", TAIL, "--carry"),
    ],
    ids=" ".join,
)
def test_a_result_is_what_it_is_without_the_airframe_that_stands_outside(
    words: tuple[str, ...], whole: Program, clean: Program
) -> None:
    found, expected = whole.json(*words), clean.json(*words)
    assert len(rows(found)) == len(rows(expected))
    for mine, theirs in zip(rows(found), rows(expected), strict=True):
        assert mine == pytest.approx(theirs, abs=1e-6)
    if words[1] == TAIL:
        assert OUTSIDE.search(whole.output(*words))
        (left_out,) = found["without"]
        assert (left_out["airframe"], left_out["outside"]) == ("C-03", True)
        assert abs(left_out["departure_kt"]) > 2.0


def test_the_airframe_left_out_still_gets_its_verdict(whole: Program) -> None:
    (verdict,) = whole.json("standing", "C-03")["airframes"]
    assert verdict["verdict"] == "outside"
    assert verdict in whole.json("outliers")["airframes"]
    (left_out,) = whole.json("curve", TAIL)["without"]
    assert left_out["departure_kt"] == verdict["largest_departure_kt"]


def test_it_stays_in_when_asked_and_the_curve_says_so(whole: Program) -> None:
    kept = whole.json("curve", TAIL, "--with", "C-03")
    assert (kept["airframes"], kept["without"]) == (8, [])
    (sentence,) = kept["outside"]
    assert sentence.startswith("C-03 stands outside this group and is in the pool as asked: ")
    assert f"Beware: {sentence}." in whole.output("curve", TAIL, "--with", "C-03")
    without = whole.json("curve", TAIL)
    assert without["airframes"] == 7
    fast = [next(r for r in one["rows"] if r["ias_kt"] == 110.0) for one in (kept, without)]
    width = [row["mean_high_kt"] - row["mean_low_kt"] for row in fast]
    assert width[0] > 1.3 * width[1]


def test_any_airframe_can_be_taken_out(whole: Program) -> None:
    found = whole.json("curve", TAIL, "--without", "C-05", "--without", "C-06")
    assert found["airframes"] == 5
    told = {one["airframe"]: one["outside"] for one in found["without"]}
    assert told == {"C-03": True, "C-05": False, "C-06": False}
    assert "C-05, taken out as asked" in whole.output("curve", TAIL, "--without", "C-05")
    assert "6 points of C-05, taken out as asked." in found["left_out"]


@pytest.mark.parametrize(
    ("words", "exit_code", "named"),
    [
        (("--without", "C-99"), 35, "C-99"),
        (("--with", "C-03", "--without", "C-03"), 3, "C-03 is both kept in the pool and taken out"),
        (tuple(w for n in (1, 2, 4, 5, 6, 7) for w in ("--without", f"C-0{n}")), 5, "2 of the 3"),
    ],
)
def test_a_choice_that_cannot_be_followed_is_explained(
    words: tuple[str, ...], exit_code: int, named: str, whole: Program
) -> None:
    assert_explained(whole.run("curve", TAIL, *words), exit_code, named)


def test_an_airframe_without_points_that_count_cannot_be_kept_in(
    whole: Program, tmp_path: Path
) -> None:
    program = Program(copy_store(whole.store, tmp_path / "store.sqlite3"))
    listed = program.json("points", "list", "--airframe", "C-03")["points"]
    numbers = [one["point_id"] for one in listed]
    program.output("points", "reject", *numbers, "--reason", "static line leaks")
    result = program.run("curve", TAIL, "--with", "C-03")
    assert_explained(result, 3, "C-03 has no points that count")
    assert program.json("curve", TAIL)["airframes"] == 7


def test_the_site_takes_no_choice_of_airframes(whole: Program, tmp_path: Path) -> None:
    result = whole.run("publish", "--site", "--out", tmp_path / "site", "--without", "C-05")
    assert result.exit_code == 2
    assert "are for the table of a GROUP" in result.stderr


def test_the_published_table_names_who_is_not_in_it(whole: Program, tmp_path: Path) -> None:
    wanted = ("--formats", "html,json,markdown,csv", "--without", "C-05")
    whole.output("publish", TAIL, "--out", tmp_path, *wanted)
    for file in tmp_path.iterdir():
        if file.suffix != ".csv":
            text = re.sub(r"<[^>]*>", "", file.read_text(encoding="utf-8"))
            assert re.search(r"C-03, which stands outside by [+-−]\d", text), file
            assert "C-05, taken out as asked" in text
    (page,) = tmp_path.glob("*.html")
    text = page.read_text(encoding="utf-8")
    assert text.index("Without C-03, which stands outside") < text.index("<table")


def test_the_site_shows_the_curve_without_it_and_its_verdict(
    whole: Program, tmp_path: Path
) -> None:
    whole.output("publish", "--site", "--out", tmp_path)
    (page,) = (p for p in (tmp_path / "groups").iterdir() if "tail" in p.name)
    text = re.sub(r"<[^>]*>", " ", page.read_text(encoding="utf-8"))
    assert "Without C-03, which stands outside" in text
    assert re.search(r"C-03\s+2\s+6\s+outside", text)


def test_an_issue_keeps_who_was_left_out_and_is_made_again_alike(
    whole: Program, tmp_path: Path
) -> None:
    program = Program(copy_store(whole.store, tmp_path / "store.sqlite3"))
    issue = ("publish", TAIL, "--out", tmp_path / "first", "--issue", "--reason")
    program.output(*issue, "as it comes", "--formats", "json")
    program.output(*issue, "with all", "--with", "C-03", "--formats", "json")
    program.output(*issue, "fewer", "--without", "C-05", "--formats", "json")
    # the airframe is accepted by everybody afterwards, so the group looks other than it did
    listed = program.json("points", "list", "--airframe", "C-03")["points"]
    numbers = [one["point_id"] for one in listed]
    program.output("points", "reject", *numbers, "--reason", "static line leaks")
    for number in (1, 2, 3):
        again = program.json("issue", "again", TAIL, str(number), "--out", tmp_path / "again")
        assert (again["digits_same"], again["bytes_same"]) == (True, True)
        assert again["digits"].endswith("every digit is the same")
    change = program.json("issue", "compare", TAIL, "2", "1")
    (gone,) = change["points"]
    assert re.match(r"6 points of C-03 went: which stands outside by", gone)
    assert "with_airframes: C-03 then none" in change["choices"]
    change = program.json("issue", "compare", TAIL, "1", "3")
    assert "6 points of C-05 went: taken out as asked" in change["points"]


def test_two_outside_of_a_group_of_four_stay_in_rather_than_leave_no_curve(tmp_path: Path) -> None:
    groups = (Group(TAIL, 4, -0.05, 0.10), Group(WING, 12, 0.04, -0.12))
    odd = {"C-01": 0.20, "C-02": -0.20}
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    (tmp_path / "fleet.toml").write_text(fleet_toml(groups), encoding="utf-8")
    (tmp_path / "points.csv").write_text(points_csv(groups, odd), encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    outside = {o["airframe"] for o in program.json("outliers")["airframes"] if o["outside"]}
    found = program.json("curve", TAIL)
    left = {one["airframe"] for one in found["without"]}
    kept = {sentence.partition(" ")[0] for sentence in found["outside"]}
    assert left | kept == outside & {"C-01", "C-02", "C-03", "C-04"}
    assert found["airframes"] == 4 - len(left) >= 3
    assert all("too few airframes would be left" in sentence for sentence in found["outside"])


def test_json_of_a_published_table_lists_them(whole: Program, tmp_path: Path) -> None:
    whole.output("publish", TAIL, "--out", tmp_path, "--formats", "json")
    (file,) = tmp_path.iterdir()
    (told,) = json.loads(file.read_text(encoding="utf-8"))["without"]
    assert told.startswith("C-03, which stands outside by ")
    assert MID not in told
