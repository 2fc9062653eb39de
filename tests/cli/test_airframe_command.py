"""An airframe is described by options or by questions, before its flights or after them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
import pytest

from fleetcal.cli import airframe_command
from tests.cli.command_line import Program, assert_explained
from tests.cli.hand_legs import legs_of_day
from tests.cli.invented_fleet import TAIL, fleet_toml, points_csv
from tests.one_airframe import FLEET
from tests.store_places import begun_at, store_at

EVERYTHING = (
    *("--type", "Corrie 2", "--static-source", "wing boom", "--engine", "75 kW four"),
    *("--propeller", "two-blade fixed"),
)


def keep(program: Program, folder: Path, tag: str, day: str = "2026-05-02", runs: int = 2) -> None:
    """Keep a flight of an airframe by its name alone."""
    path = folder / f"{tag}-{day}.csv"
    path.write_text(legs_of_day(day, *range(1, runs + 1)), encoding="utf-8")
    program.output("reduce", path, "--airframe", tag, "--new-airframe", "--date", day)


@pytest.fixture
def kept(tmp_path: Path) -> Program:
    """A store with one flight of C-07, of which nothing was described."""
    program = Program(store_at(tmp_path / "kept.sqlite3"))
    keep(program, tmp_path, "C-07")
    return program


def points(program: Program) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = program.json("points", "list")["points"]
    return found


def equipment(program: Program) -> set[tuple[str, ...]]:
    names = ("type", "static_source", "engine", "propeller")
    return {tuple(p[name] for name in names) for p in points(program)}


def fits(program: Program) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = program.json("show", "fleet")["fits"]
    return found


def airframes_of(program: Program, port: str) -> int:
    """Airframes with points of a static source, in all its pairings."""
    groups = program.json("groups")["groups"]
    return sum(group["airframes"] for group in groups if group["group"].startswith(f"{port} / "))


def test_an_airframe_is_described_before_its_first_flight(tmp_path: Path) -> None:
    program = Program(store_at(tmp_path / "new.sqlite3"))
    text = program.output("fleet", "airframe", "C-07", *EVERYTHING, "--stall", "48mph")
    assert "C-07 is new" in text
    assert "42 kt, flaps up" in text
    assert "reference weight  supposed" in text
    keep(program, tmp_path, "C-07")
    assert equipment(program) == {("Corrie 2", "wing boom", "75 kW four", "two-blade fixed")}


def test_what_was_left_open_is_filled_in_under_kept_flights(kept: Program) -> None:
    before = points(kept)
    text = kept.output("fleet", "airframe", "C-07", *EVERYTHING, "--weight-kg", "630")
    assert "not described" not in text
    after = points(kept)
    assert equipment(kept) == {("Corrie 2", "wing boom", "75 kW four", "two-blade fixed")}
    assert [p["weight_kg"] for p in after] == [630.0, 630.0], "a supposed weight follows"
    same = ("kappa", "u_kappa", "dvpc_kt", "dhpc_ft", "vic_kt")
    assert [[p[n] for n in same] for p in after] == [[p[n] for n in same] for p in before]
    assert len(fits(kept)) == 1
    assert kept.json("show", "fleet")["types"] == ["Corrie 2"]
    kept.output("store", "check")


def test_it_may_be_described_piece_by_piece(kept: Program) -> None:
    for i in range(0, len(EVERYTHING), 2):
        kept.output("fleet", "airframe", "C-07", *EVERYTHING[i : i + 2])
    assert equipment(kept) == {("Corrie 2", "wing boom", "75 kW four", "two-blade fixed")}
    backwards = [EVERYTHING[i : i + 2] for i in range(0, len(EVERYTHING), 2)][::-1]
    for pair in backwards:
        assert "as before" in kept.output("fleet", "airframe", "C-07", *pair)


def test_the_history_keeps_the_change_and_undo_takes_it_back(kept: Program) -> None:
    before, shown = points(kept), fits(kept)
    kept.output("fleet", "airframe", "C-07", *EVERYTHING, "--weight-kg", "630", "--stall-kt", "42")
    assert "fleet airframe" in kept.output("show", "history", "--airframe", "C-07")
    kept.output("undo")
    assert points(kept) == before
    assert fits(kept) == shown
    kept.output("fleet", "airframe", "C-07", *EVERYTHING)
    assert equipment(kept) == {("Corrie 2", "wing boom", "75 kW four", "two-blade fixed")}


@pytest.mark.long
def test_equipment_that_was_described_changes_on_a_day(kept: Program, tmp_path: Path) -> None:
    kept.output("fleet", "airframe", "C-07", *EVERYTHING)
    other = ("fleet", "airframe", "C-07", "--static-source", "tail-boom flush pair")
    result = kept.run(*other)
    assert_explained(result, 3, "its fit from the start has stored sorties (1)")
    assert "--since YYYY-MM-DD" in result.stderr
    kept.output(*other, "--since", "2026-06-01")
    keep(kept, tmp_path, "C-07", "2026-06-02", runs=3)
    found = {(p["flown_on"], p["static_source"], p["engine"]) for p in points(kept)}
    assert found == {
        ("2026-05-02", "wing boom", "75 kW four"),
        ("2026-06-02", "tail-boom flush pair", "75 kW four"),
    }
    result = kept.run(*other, "--since", "2026-05-01")
    assert_explained(result, 3, "sorties (1, up to 2026-05-02) are stored under the fit before")


def test_from_a_day_on_only_later_flights_follow(kept: Program, tmp_path: Path) -> None:
    keep(kept, tmp_path, "C-07", "2026-06-02", runs=3)
    kept.output("fleet", "airframe", "C-07", *EVERYTHING, "--since", "2026-05-20")
    found = {(p["flown_on"], p["type"], p["static_source"]) for p in points(kept)}
    assert found == {
        ("2026-05-02", "Corrie 2", "static source not described yet (C-07)"),
        ("2026-06-02", "Corrie 2", "wing boom"),
    }


@pytest.mark.long
def test_two_undescribed_airframes_are_never_pooled(tmp_path: Path) -> None:
    program = Program(store_at(tmp_path / "two.sqlite3"))
    for tag, runs in (("C-07", 2), ("D-11", 3)):
        keep(program, tmp_path, tag, runs=runs)
    groups = program.json("groups")["groups"]
    assert [group["airframes"] for group in groups] == [1, 1]
    for tag in ("C-07", "D-11"):
        program.output("fleet", "airframe", tag, "--type", "Corrie 2")
    groups = program.json("groups")["groups"]
    assert {group["type"] for group in groups} == {"Corrie 2"}
    assert [group["airframes"] for group in groups] == [1, 1]
    for tag in ("C-07", "D-11"):
        program.output("fleet", "airframe", tag, "--static-source", "wing boom")
    groups = program.json("groups")["groups"]
    assert [group["airframes"] for group in groups] == [1, 1], "engines may differ"


def test_it_joins_a_type_that_is_there_and_is_pooled_with_it(tmp_path: Path) -> None:
    program = Program(begun_at(tmp_path / "club.sqlite3"))
    (tmp_path / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    (tmp_path / "points.csv").write_text(points_csv(), encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "points.csv")
    keep(program, tmp_path, "D-11")
    (kind,) = {line["type"] for line in fits(program)} - {"type not described yet (D-11)"}
    like = next(line for line in fits(program) if line["static_source"] == TAIL)
    before = airframes_of(program, TAIL)
    pairing = ("--engine", like["engine"], "--propeller", like["propeller"])
    words = ("--type", kind, "--static-source", TAIL, *pairing)
    text = program.output("fleet", "airframe", "D-11", *words)
    assert f"type              {kind}, as " in text
    assert airframes_of(program, TAIL) == before + 1
    result = program.run("fleet", "airframe", "D-11", "--weight-kg", "700")
    assert_explained(result, 3, "its reference weight is", "too")


def test_a_name_that_is_nearly_a_known_one_is_pointed_out(kept: Program) -> None:
    kept.output("fleet", "airframe", "D-11", "--type", "Corrie 2")
    stated = kept.run("fleet", "airframe", "C-07", "--type", "corrie2").stderr
    assert "'corrie2' is new, and there is 'Corrie 2'" in stated


def test_a_tag_that_is_written_otherwise_is_refused(kept: Program) -> None:
    assert_explained(kept.run("fleet", "airframe", "C-7", *EVERYTHING), 35, "C-07")


def test_a_fleet_file_fills_in_too(kept: Program, tmp_path: Path) -> None:
    described = FLEET.replace("C-01", "C-07").replace("600.0", "610.0")
    described = described.replace("2015-04-01", "2026-01-01")
    (tmp_path / "fleet.toml").write_text(described, encoding="utf-8")
    kept.output("fleet", "load", tmp_path / "fleet.toml")
    assert equipment(kept) == {("Corrie 2", "wing boom", "75 kW four", "two-blade fixed")}
    assert {p["weight_kg"] for p in points(kept)} == {610.0}


def test_a_described_fleet_goes_through_its_file_unchanged(kept: Program, tmp_path: Path) -> None:
    kept.output("fleet", "airframe", "C-07", *EVERYTHING[:4])
    path = tmp_path / "written.toml"
    kept.output("show", "fleet", "--out", path)
    assert "0 added, 0 changed" in kept.output("fleet", "load", path)


def at_terminal(monkeypatch: pytest.MonkeyPatch, answers: Sequence[str]) -> list[str]:
    """Put somebody at the terminal who answers one question after another."""
    rest, questions = list(answers), list[str]()

    def prompt(question: str, **_: object) -> str:
        questions.append(question)
        return rest.pop(0) if rest else ""

    monkeypatch.setattr(airframe_command, "on_terminal", lambda: True)
    monkeypatch.setattr(click, "prompt", prompt)
    return questions


def test_questions_may_all_stay_blank(kept: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    before = points(kept)
    questions = at_terminal(monkeypatch, [])
    assert "as before" in kept.output("fleet", "airframe", "C-07")
    assert len(questions) == 6
    assert points(kept) == before


def test_questions_take_units_and_ask_again_what_cannot_be_understood(
    kept: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers = ["Corrie 2", "wing boom", "", "two-blade fixed", "fast", "48mph", "1390", "1390 lb"]
    at_terminal(monkeypatch, answers)
    text = kept.output("fleet", "airframe", "C-07")
    assert "engine            not described yet" in text
    assert "42 kt" in text
    assert [p["weight_kg"] for p in points(kept)] == pytest.approx([630.493394] * 2)


def test_the_day_is_a_question_only_where_equipment_changes(
    kept: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept.output("fleet", "airframe", "C-07", *EVERYTHING)
    questions = at_terminal(monkeypatch, ["", "other port", "", "", "2026-08-01", "", ""])
    text = kept.output("fleet", "airframe", "C-07")
    assert "carried since     2026-08-01" in text
    assert any("First day" in question for question in questions)
    assert "[wing boom]" in questions[1]


@pytest.mark.parametrize("text", ["two\nlines", " blank at the start"])
def test_a_name_that_is_no_name_is_refused(kept: Program, text: str) -> None:
    assert_explained(kept.run("fleet", "airframe", "C-07", "--engine", text), 34, "engine")


@pytest.mark.long
def test_the_weight_of_one_kept_flight_is_corrected(kept: Program, tmp_path: Path) -> None:
    keep(kept, tmp_path, "C-07", "2026-05-09", runs=3)
    before = points(kept)
    assert "1 climb" not in kept.output("points", "weight", "1", "--weight", "1290lb")
    after = points(kept)
    assert [p["weight_kg"] for p in after] == pytest.approx([585.134157] * 2 + [600.0] * 3)
    assert [p["kappa"] for p in after] == [p["kappa"] for p in before]
    kept.output("fleet", "airframe", "C-07", "--weight-kg", "640")
    weights = [p["weight_kg"] for p in points(kept)]
    assert weights == pytest.approx([585.134157] * 2 + [640.0] * 3), "one was stated"
    kept.output("undo")
    kept.output("undo")
    assert points(kept) == before


def test_a_weight_in_pounds_on_a_type_that_is_known_is_a_question(kept: Program) -> None:
    kept.output("fleet", "airframe", "C-07", "--weight-kg", "600")
    before = points(kept)
    result = kept.run("points", "weight", "1", "--weight-kg", "1290")
    assert_explained(result, 36, "are these pounds? 1290 lb is 585 kg")
    assert points(kept) == before
    assert_explained(kept.run("points", "weight", "99", "--weight-kg", "600"), 35, "no sortie 99")


def test_reducing_again_takes_the_reference_weight_as_it_is_now(
    kept: Program, tmp_path: Path
) -> None:
    kept.output("fleet", "airframe", "C-07", "--weight-kg", "640")
    again = ("reduce", tmp_path / "C-07-2026-05-02.csv", "--again", "--replace")
    kept.output(*again)
    assert {p["weight_kg"] for p in points(kept)} == {640.0}
    kept.output("fleet", "airframe", "C-07", "--weight-kg", "650")
    assert {p["weight_kg"] for p in points(kept)} == {650.0}, "still supposed"
