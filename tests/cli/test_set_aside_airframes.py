"""An airframe whose points are all set aside comes first: reason, figure and departure."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import PAIRING, TAIL, WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at, copy_store

pytestmark = [
    pytest.mark.long,
    pytest.mark.any_store("judges numbers by queries that other tests send"),
]

GROUPS = (Group(TAIL, 6, -0.05, 0.10), Group(WING, 6, 0.04, -0.12))
FULL = f"{TAIL} / {PAIRING[0]} / {PAIRING[1]}"
REASON = "found on the bench: static line leaks"


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """A store where C-03 is far off and nobody has looked for the reason."""
    folder = tmp_path_factory.mktemp("aside")
    program = Program(begun_at(folder / "store.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml(GROUPS), encoding="utf-8")
    points = points_csv(GROUPS, {"C-03": 0.15}, speeds_kt=(70.0, 95.0, 120.0))
    (folder / "points.csv").write_text(points, encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.fixture(scope="module")
def program(before: Program, tmp_path_factory: pytest.TempPathFactory) -> Program:
    """The same with its points rejected, and a leak check that bars those of C-08."""
    folder = tmp_path_factory.mktemp("later")
    program = Program(copy_store(before.store, folder / "store.sqlite3"))
    listed = program.json("points", "list", "--airframe", "C-03")["points"]
    numbers = [one["point_id"] for one in listed]
    program.output("points", "reject", *numbers, "--reason", REASON)
    leak = ("--airframe", "C-08", "--date", "2024-04-01", "--loss-ft", "900")
    program.output("bench", "enter", "leak", *leak)
    return program


def test_the_list_of_airframes_begins_with_those_set_aside(
    before: Program, program: Program
) -> None:
    (outside,) = (o for o in before.json("outliers")["airframes"] if o["airframe"] == "C-03")
    found = program.json("outliers")
    first, second, *others = found["airframes"]
    assert (first["airframe"], second["airframe"]) == ("C-03", "C-08")
    assert found["judged"] == len(others) == 10
    for one in (first, second):
        assert (one["verdict"], one["outside"]) == ("set aside", False)
    assert (first["if_counted"], second["if_counted"]) == ("outside", "inside")
    # its departure is what it was, but for the spread that is now learnt without C-08
    departed = outside["largest_departure_kt"]
    assert first["largest_departure_kt"] == pytest.approx(departed, abs=0.5)
    assert first["reason"].startswith(f"6 points: {REASON}. If its points counted, ")
    text = program.output("outliers")
    assert text.index("C-03") < text.index("C-01")
    assert text.count(REASON) == 1


def test_points_set_aside_move_nobody_elses_verdict(before: Program, program: Program) -> None:
    """Those of another group have the same neighbours with and without the odd one."""
    ours = {one["airframe"]: one for one in program.json("outliers")["airframes"]}
    for one in before.json("outliers")["airframes"]:
        if one["airframe"] in ("C-01", "C-02", "C-04", "C-05", "C-06"):
            found = ours[one["airframe"]]
            assert found["others"] == one["others"]
            assert found["largest_departure_kt"] == pytest.approx(
                one["largest_departure_kt"], abs=0.15
            )


def test_the_standing_of_one_set_aside_tells_reason_departure_and_draws_it(
    program: Program, tmp_path: Path
) -> None:
    figure = tmp_path / "standing.svg"
    text = program.output("standing", "C-03", "--out", figure)
    assert f"C-03 in {FULL}: set aside; 6 points: {REASON}." in text
    assert text.count(REASON) == 1
    assert "If its points counted" in program.output("standing", "C-03", "--details")
    assert re.search(r"^ *120 +\+\d+\.\d", text, re.MULTILINE)
    (told,) = program.json("standing", "C-03")["airframes"]
    assert told == program.json("outliers")["airframes"][0]
    drawn = figure.read_text(encoding="utf-8")
    assert "set aside" in drawn
    assert "this one is set aside" in drawn


def test_the_list_of_groups_tells_before_the_table_who_is_set_aside(program: Program) -> None:
    text = program.output("groups")
    assert text.startswith("There are 2 groups, and each has enough airframes")
    assert text.splitlines()[2].startswith(
        f"C-03 is set aside in {FULL}, flaps up: 6 points: {REASON}."
    )
    assert "C-08 is set aside" in text
    lines = program.json("groups")["groups"]
    assert [line["set_aside_airframes"] for line in lines] == [1, 1]


def test_an_airframe_with_points_that_count_is_not_set_aside(
    before: Program, tmp_path: Path
) -> None:
    program = Program(copy_store(before.store, tmp_path / "store.sqlite3"))
    listed = program.json("points", "list", "--airframe", "C-05")["points"]
    program.output("points", "reject", listed[0]["point_id"], "--reason", "bad legs")
    found = program.json("outliers")
    assert all(one["verdict"] != "set aside" for one in found["airframes"])
    assert found["left_out"] == ["1 point of C-05: bad legs"]
    assert program.json("groups")["set_aside"] == []


def plain(page: Path) -> str:
    """Return the words of a page."""
    text = page.read_text(encoding="utf-8")
    text = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", text, flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]*>", " ", text).split())


def test_the_site_shows_them_first_with_reason_departure_and_figure(
    program: Program, tmp_path: Path
) -> None:
    program.output("publish", "--site", "--out", tmp_path)
    overview = plain(tmp_path / "index.html")
    assert "60 points in use , 12 out" in overview
    assert "10 airframes in use , 2 out" in overview
    attention = overview[overview.index("What needs attention") : overview.index("Groups A group")]
    assert re.search(
        rf"C-03 is set aside: 6 points: {REASON}; "
        r"it would depart by \+\d+\.\d kt at 1\d0 kt\.",
        attention,
    )
    assert "C-08 is set aside" in attention
    airframes = overview[overview.index("What each carries now") :]
    assert airframes.index("C-03") < airframes.index("C-08") < airframes.index("C-01")
    (page,) = (tmp_path / "airframes").glob("C-03*.html")
    words = plain(page)
    assert words.count(REASON) == 1
    begun = words.index("C-03 has no correction. It is set aside in ")
    assert begun < words.index(REASON) < words.index("Advisory: the approved")
    html = page.read_text(encoding="utf-8")
    assert html.index('id="standing-1"') < html.index("<svg") < html.index('id="points"')
    for group in (tmp_path / "groups").glob("*.html"):
        told = plain(group)
        listed = told[told.index("Who stands where") :]
        first = "C-03" if "tail" in group.name else "C-08"
        assert re.search(rf"{first} 2 6 set aside", listed), group


def test_one_outside_needs_attention_and_its_points_are_told_to_be_out(
    before: Program, tmp_path: Path
) -> None:
    before.output("publish", "--site", "--out", tmp_path)
    assert f"C-03 stands outside {FULL} by +" in plain(tmp_path / "index.html")
    (page,) = (tmp_path / "airframes").glob("C-03*.html")
    assert "6 points out: the airframe stands outside by" in plain(page)


def test_a_fleet_without_faults_needs_no_attention(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    (tmp_path / "fleet.toml").write_text(fleet_toml(GROUPS), encoding="utf-8")
    points = points_csv(GROUPS, speeds_kt=(70.0, 95.0, 120.0))
    (tmp_path / "points.csv").write_text(points, encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    program.output("publish", "--site", "--out", tmp_path / "site")
    words = plain(tmp_path / "site" / "index.html")
    assert "No airframe stands outside its group or is set aside, and no watch says" in words
    assert "No point is doubtful." in words


def test_what_speaks_against_an_issue_stands_above_its_table(
    before: Program, tmp_path: Path
) -> None:
    program = Program(copy_store(before.store, tmp_path / "store.sqlite3"))
    wanted = ("--with", "C-03", "--formats", "html,markdown")
    program.output("publish", TAIL, "--issue", "--reason", "x", "--out", tmp_path / "i", *wanted)
    for page in (tmp_path / "i").iterdir():
        text = page.read_text(encoding="utf-8")
        table = text.index("<table") if page.suffix == ".html" else text.index("| ---")
        assert text.index("What speaks against it") < table
        assert text.index("C-03 stands outside this group") < table
