"""Every command that a message, a help or a docstring quotes is one that there is."""

from __future__ import annotations

import ast
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

import fleetcal
from fleetcal.cli import main

pytestmark = pytest.mark.any_store("opens no store")

PACKAGE = Path(fleetcal.__file__).parent
QUOTED = re.compile(r"'(?:fleetcal )?([a-z-]+(?: [^']*)?)'")


def texts(tree: ast.AST) -> Iterator[str]:
    """Yield every text of a module; what is filled in while it runs becomes a number."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            parts = (
                str(part.value) if isinstance(part, ast.Constant) else "7" for part in node.values
            )
            yield "".join(parts)


def commands_in(text: str) -> Iterator[list[str]]:
    """Yield the quoted command lines of a text, as words."""
    for found in QUOTED.finditer(re.sub(r"\s+", " ", text)):
        whole, line = found[0], found[1]
        words = line.replace('\\"', "").replace('"', "").split()
        known = words[0] in main.commands
        if whole.startswith("'fleetcal ") or (known and len(words) > 1):
            yield words


def fault(words: list[str]) -> str:
    """Return what is wrong with a command line, empty if nothing is."""
    command: click.Command = main
    rest = list(words)
    while isinstance(command, click.Group) and rest and re.fullmatch("[a-z-]+", rest[0]):
        name = rest.pop(0)
        if name not in command.commands:
            return f"no command {name!r} in {shlex.join(words)}"
        command = command.commands[name]
    options = {
        word
        for option in command.get_params(click.Context(command))
        for word in (*option.opts, *option.secondary_opts)
    }
    strange = [word for word in rest if word.startswith("--") and word.rstrip(".,") not in options]
    return f"no option {strange[0]} in {shlex.join(words)}" if strange else ""


def test_a_wrong_line_would_be_found() -> None:
    said = "see 'fleetcal points export' or 'fleetcal reduce 7 --figure x', not 'points list'"
    found = [fault(words) for words in commands_in(said)]
    assert found == [
        "no command 'export' in points export",
        "no option --figure in reduce 7 --figure x",
        "",
    ]


@pytest.mark.long
def test_quoted_commands_are_looked_at() -> None:
    files = sorted(PACKAGE.rglob("*.py"))
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in files]
    assert sum(1 for tree in trees for text in texts(tree) for _ in commands_in(text)) > 60


@pytest.mark.parametrize(
    "path", sorted(PACKAGE.rglob("*.py")), ids=lambda path: str(path.relative_to(PACKAGE))
)
def test_a_module_quotes_commands_and_options_that_there_are(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = (fault(words) for text in texts(tree) for words in commands_in(text))
    assert [one for one in found if one] == []
