"""A flight is kept by a name alone; what the aircraft is may be described later, or never."""

from __future__ import annotations

from pathlib import Path

import click
import pytest

from fleetcal.cli import new_airframe
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.hand_legs import leg_sheet
from tests.store_places import store_at

DAY = ("--date", "2026-05-02")


@pytest.fixture
def empty(tmp_path: Path) -> Program:
    """A place where no store is yet."""
    return Program(store_at(tmp_path / "new.sqlite3"))


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Legs written by hand; `other_sheet` gives one of another content."""
    path = tmp_path / "legs.csv"
    path.write_text(leg_sheet(1, 2), encoding="utf-8")
    return path


def other_sheet(tmp_path: Path, runs: int) -> Path:
    path = tmp_path / f"legs-{runs}.csv"
    path.write_text(higher(leg_sheet(*range(1, runs + 1))), encoding="utf-8")
    return path


def higher(sheet: str) -> str:
    return sheet.replace(",4500,", ",5000,")


def answering(monkeypatch: pytest.MonkeyPatch, answer: bool) -> list[str]:
    """Put somebody at the terminal who answers; return what is asked."""
    questions: list[str] = []

    def confirm(question: str, **_: object) -> bool:
        questions.append(question)
        return answer

    monkeypatch.setattr(new_airframe, "on_terminal", lambda: True)
    monkeypatch.setattr(click, "confirm", confirm)
    return questions


def test_a_name_alone_keeps_a_flight_and_begins_the_store(empty: Program, sheet: Path) -> None:
    done = empty.json("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    assert done["stored"]
    points = empty.json("points", "list")["points"]
    assert len(points) == 2
    assert {p["airframe"] for p in points} == {"C-07"}
    assert {p["weight_kg"] for p in points} == {600.0}
    for part in ("type", "static_source", "engine", "propeller"):
        assert points[0][part] == f"{part.replace('_', ' ')} not described yet (C-07)"


def test_what_was_supposed_of_the_weight_is_stated(empty: Program, sheet: Path) -> None:
    words = ("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    stated = empty.run(*words).stderr
    assert "600 kg is supposed" in stated
    assert "fleetcal fleet airframe C-07 --weight-kg" in stated


def test_without_the_option_nothing_is_begun_and_the_hint_names_it(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    before = folder_content(tmp_path)
    result = empty.run("reduce", sheet, "--airframe", "C-07", *DAY)
    assert_explained(result, 4, "there is no store")
    assert "--new-airframe begins one with C-07" in result.stderr
    assert folder_content(tmp_path) == before


def test_a_flight_that_cannot_be_reduced_leaves_no_airframe_and_no_store(
    empty: Program, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text(leg_sheet(1, legs=1), encoding="utf-8")
    before = folder_content(tmp_path)
    words = ("reduce", bad, "--airframe", "C-07", "--new-airframe", *DAY)
    assert empty.run(*words).exit_code != 0
    assert folder_content(tmp_path) == before


def test_a_flight_without_a_day_leaves_the_store_as_it_was(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    empty.output("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    words = ("reduce", other_sheet(tmp_path, 3), "--airframe", "D-9", "--new-airframe")
    assert empty.run(*words).exit_code == 3
    assert {line["airframe"] for line in empty.json("show", "fleet")["fits"]} == {"C-07"}


@pytest.mark.parametrize("tag", ["C-7", "c07", "C 007", "C-07 "])
@pytest.mark.parametrize("option", [(), ("--new-airframe",)])
def test_a_tag_that_is_written_otherwise_is_never_added(
    empty: Program, sheet: Path, tmp_path: Path, tag: str, option: tuple[str, ...]
) -> None:
    empty.output("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    result = empty.run("reduce", other_sheet(tmp_path, 3), "--airframe", tag, *option, *DAY)
    assert result.exit_code in (34, 35)
    assert "C-07" in result.stderr
    assert len(empty.json("show", "fleet")["fits"]) == 1


@pytest.mark.long
def test_another_tag_is_refused_with_the_nearest_and_added_by_the_option(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    empty.output("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    words = ("reduce", other_sheet(tmp_path, 3), "--airframe", "C-08", *DAY)
    result = empty.run(*words)
    assert_explained(result, 35, "there is no airframe 'C-08'")
    assert "did you mean C-07? --new-airframe adds C-08" in result.stderr
    empty.output(*words, "--new-airframe")
    assert {line["type"] for line in empty.json("show", "fleet")["fits"]} == {
        "type not described yet (C-07)",
        "type not described yet (C-08)",
    }


def test_on_a_terminal_it_is_a_question(
    empty: Program, sheet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    questions = answering(monkeypatch, False)
    words = ("reduce", sheet, "--airframe", "C-07", *DAY)
    assert empty.run(*words).exit_code == 4
    answering(monkeypatch, True)
    empty.output(*words)
    assert "C-07 is not in the store yet." in questions[0]
    assert questions[0].endswith("Add it?")
    assert len(empty.json("points", "list")["points"]) == 2


@pytest.mark.long
def test_a_known_airframe_is_kept_as_before_whatever_the_option(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    words = ("--airframe", "C-07", "--new-airframe", *DAY)
    empty.output("reduce", sheet, *words)
    empty.output("reduce", other_sheet(tmp_path, 3), *words)
    assert empty.json("reduce", sheet, *words)["known_already"]
    assert len(empty.json("points", "list")["points"]) == 5


@pytest.mark.long
def test_the_first_weight_given_is_its_reference_weight_until_one_is_stated(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    words = ("--airframe", "C-07", "--new-airframe", *DAY)
    empty.output("reduce", sheet, *words, "--weight", "2000lb")
    empty.output("reduce", other_sheet(tmp_path, 3), *words)
    weights = [p["weight_kg"] for p in empty.json("points", "list")["points"]]
    assert weights == pytest.approx([907.18474] * 5)


def test_a_folder_of_flights_is_kept_by_a_name_alone(empty: Program, tmp_path: Path) -> None:
    folder = tmp_path / "season"
    folder.mkdir()
    for runs in (1, 2):
        sheet = leg_sheet(*range(1, runs + 1))
        text = higher(sheet) if runs == 2 else sheet
        (folder / f"{runs}.csv").write_text(text, encoding="utf-8")
    words = ("reduce", folder, "--airframe", "C-07", *DAY)
    assert empty.run(*words).exit_code == 4
    assert empty.json(*words, "--new-airframe")["stored"] == 2
    assert len(empty.json("points", "list")["points"]) == 3


def test_a_measurement_that_fails_takes_its_new_airframe_out_again(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    empty.output("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    bad = tmp_path / "bad.csv"
    bad.write_text("nothing,of,use\n1,2,3\n", encoding="utf-8")
    words = ("measure", "speed-course", bad, "--airframe", "D-9", "--new-airframe", *DAY)
    assert empty.run(*words).exit_code != 0
    assert {line["airframe"] for line in empty.json("show", "fleet")["fits"]} == {"C-07"}


def test_glides_that_cannot_be_reduced_leave_no_airframe(
    empty: Program, sheet: Path, tmp_path: Path
) -> None:
    empty.output("reduce", sheet, "--airframe", "C-07", "--new-airframe", *DAY)
    other = other_sheet(tmp_path, 3)
    words = ("reduce", other, "--airframe", "D-9", "--new-airframe", *DAY)
    assert empty.run(*words, "--quantity", "glide", "--power-state", "idle").exit_code != 0
    assert {line["airframe"] for line in empty.json("show", "fleet")["fits"]} == {"C-07"}
