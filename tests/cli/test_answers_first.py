"""Every command answers first, in a sentence, and no line is wider than the terminal."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL
from tests.seed_demo.demonstration import demonstration
from tests.store_places import copy_store

pytestmark = pytest.mark.any_store("what is printed is the same on any store")

#: On a small store; `{folder}` is one to write to.
COMMANDS = (
    "groups",
    "outliers",
    "outliers --details",
    f"outliers '{TAIL}'",
    f"curve '{TAIL}'",
    f"curve '{TAIL}' --details",
    f"curve '{TAIL}' --second-opinion",
    "standing C-01",
    "standing C-03",
    "standing C-03 --details",
    "watch C-01",
    f"contrast '{TAIL}'",
    "show fleet",
    "show checks",
    "show handbooks",
    "show issues",
    "show logs",
    "show history",
    "show history --details",
    "points list",
    "points list --details",
    "points budget 1",
    "store check",
)
#: On the demonstration.
IN_DEMONSTRATION = (
    *("groups", "outliers", "outliers --quantity glide", "show fleet", "show issues"),
    *("curve 'wing boom'", "standing C-07", "standing C-05", "standing C-12", "change C-12"),
    *(
        "contrast 'wing boom' 'tail-boom flush pair'",
        "watch C-07",
        "plan C-07 --question standing",
        "plan C-07 --details",
    ),
    "handbook compare 'mid-fuselage raised disc pair'",
    "handbook compare 'mid-fuselage raised disc pair' --carry",
    "curve '75 kW four / two-blade fixed' --quantity glide",
    "curve '75 kW four / two-blade fixed' --quantity climb --power-state 'full power'",
    *("standing C-01 --quantity glide", "points list --quantity climb", "points list --rejected"),
    "issue compare 'wing boom' 1 2",
)


@pytest.fixture(scope="module")
def few(few_file: str, tmp_path_factory: pytest.TempPathFactory) -> Program:
    """The program on a store with points of nine airframes."""
    folder = tmp_path_factory.mktemp("answers")
    return Program(copy_store(few_file, folder / "store.sqlite3"))


@pytest.fixture(autouse=True)
def usual_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr("fleetcal.cli.prose.WIDEST_PROSE", 120)
    for name in ("FORCE_COLOR", "FLEETCAL_SPEED_UNIT"):
        monkeypatch.delenv(name, raising=False)


def too_wide(text: str) -> Iterator[str]:
    """Lines of more than 80 letters that hold no command to copy and no path."""
    for line in text.splitlines():
        if len(line) > 80 and "fleetcal " not in line and not re.search(r"(^|\s)\S*/\S{20,}", line):
            yield line


def first_sentence(text: str) -> str:
    """What stands before the first empty line."""
    return " ".join(text.split("\n\n")[0].split())


def assert_answered(text: str) -> None:
    assert list(too_wide(text)) == []
    answer = first_sentence(text)
    assert re.match(r"[A-Z0-9]", answer), answer
    assert answer.endswith("."), answer
    assert len(answer.split()) > 2, answer
    assert "\n\n\n" not in text
    assert not text.endswith("\n\n")


@pytest.mark.parametrize("words", COMMANDS)
def test_every_command_answers_first_and_fits_80_columns(words: str, few: Program) -> None:
    assert_answered(few.output(*split(words)))


def split(words: str) -> list[str]:
    return [found[0].strip("'") for found in re.finditer(r"'[^']*'|\S+", words)]


@pytest.mark.long
@pytest.mark.parametrize("words", IN_DEMONSTRATION)
def test_every_command_of_the_demonstration_answers_first(
    words: str, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = demonstration(tmp_path_factory).folder
    store = copy_store(folder / "corrie.store", tmp_path / "corrie.store")
    assert_answered(Program(store).output(*split(words)))
