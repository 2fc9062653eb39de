"""A command or option that is gone is answered with what it is called now."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from click.testing import CliRunner

from fleetcal.cli import main
from fleetcal.cli.renamed import renamed
from tests.cli.test_help import parse

pytestmark = pytest.mark.any_store("opens no store")

__all__ = ["parse"]
ROWS = renamed()
VALUES = {
    "FILE": "x.svg",
    "DAY": "2024-01-01",
    "POINT": "12",
    "CHANGE": "7",
    "ID": "12",
    "N": "2",
    "P": "65",
}


def test_the_table_is_read() -> None:
    assert ("history undo CHANGE", "undo CHANGE") in ROWS
    assert len(ROWS) > 30
    assert len({old for old, _ in ROWS}) == len(ROWS)


@pytest.mark.parametrize(("old", "new"), ROWS)
def test_the_old_line_is_answered_with_the_new_one(old: str, new: str) -> None:
    result = CliRunner().invoke(main, old.split(), prog_name="fleetcal")
    assert result.exit_code == 2
    said = result.stderr.splitlines()[-1]
    same_verb = old.split()[0] == new.split()[0] and "--" not in old
    if same_verb and "is now" not in said:
        assert said == "Error: Missing option '--out'."  # where a file is written
    else:
        assert " is now: fleetcal " in said
        assert new.split()[0] in said.partition("is now: ")[2]


@pytest.mark.parametrize(("old", "new"), ROWS)
def test_the_new_line_parses(old: str, new: str, parse: Callable[[list[str]], str]) -> None:
    band = "2024-01-01..2024-06-30" if "--flown" in new else "1..2"
    words = [band if word == "A..B" else VALUES.get(word, word) for word in new.split()]
    reached = parse(words)
    assert new.startswith(reached)


@pytest.mark.parametrize("word", ["climbs", "cruise", "history"])
def test_a_group_that_is_gone_leads_to_the_table(word: str) -> None:
    said = CliRunner().invoke(main, [word], prog_name="fleetcal").stderr
    assert f"'fleetcal {word}' is now: see 'fleetcal manual commands-old-and-new'" in said


def test_a_word_that_never_was_a_command_gets_no_such_answer() -> None:
    said = CliRunner().invoke(main, ["fly"], prog_name="fleetcal").stderr
    assert "No such command 'fly'" in said
    assert "is now" not in said
