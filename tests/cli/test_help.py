"""Every command explains itself, with an example that works, and without loading the sciences."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import click
import pytest

import fleetcal
from fleetcal.cli import main

pytestmark = pytest.mark.any_store("opens no store")

HEAVY = {"numpy", "pandas", "scipy", "statsmodels", "matplotlib", "sqlalchemy", "alembic"}


def commands(
    command: click.Command = main, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    yield path, command
    if isinstance(command, click.Group):
        for name, inner in sorted(command.commands.items()):
            yield from commands(inner, (*path, name))


EVERY = list(commands())
NAMES = [" ".join(path) or "fleetcal" for path, _ in EVERY]


def test_the_walk_finds_the_commands() -> None:
    assert {"reduce", "curve", "fleet load", "points import", "publish"} <= set(NAMES)


@pytest.mark.parametrize("path", [path for path, _ in EVERY], ids=NAMES)
def test_help_loads_none_of_the_sciences(path: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-X", "importtime", "-m", "fleetcal", *path, "--help"],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(Path(fleetcal.__file__).parents[1])},
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Usage: fleetcal")
    loaded = {line.rsplit("|", 1)[1].strip().split(".")[0] for line in done.stderr.splitlines()}
    assert "click" in loaded
    assert loaded & HEAVY == set()


def examples(command: click.Command) -> list[list[str]]:
    """Return the command lines below 'Example:' in the help, as words."""
    _, found, below = (command.help or "").partition("Example:")
    assert found, "the help has no example"
    lines = (line.strip() for line in below.split("\n\n")[0].splitlines())
    return [shlex.split(line)[1:] for line in lines if line.startswith("fleetcal ")]


def _note(reached: list[str], command: str, /, **_: object) -> None:
    reached.append(command)


@pytest.fixture
def parse(monkeypatch: pytest.MonkeyPatch) -> Callable[[list[str]], str]:
    """Return a function that parses a command line, runs nothing, and says which command it is."""
    reached: list[str] = []
    for path, command in EVERY:
        if not isinstance(command, click.Group):
            name = " ".join(path)
            monkeypatch.setattr(command, "callback", partial(_note, reached, name))

    def parse_words(words: list[str]) -> str:
        end = words.index(">") if ">" in words else len(words)
        main.main(words[:end], prog_name="fleetcal", standalone_mode=False)
        return reached.pop()

    return parse_words


@pytest.mark.parametrize(("path", "command"), EVERY, ids=NAMES)
def test_every_help_has_an_example_that_parses(
    path: tuple[str, ...], command: click.Command, parse: Callable[[list[str]], str]
) -> None:
    reached = [parse(words) for words in examples(command)]
    assert any(name.startswith(" ".join(path)) for name in reached)


@pytest.mark.parametrize("words", [["standing"], ["reduce", "a.csv", "--wieght-kg", "5"], ["fly"]])
def test_the_check_of_examples_would_notice_a_wrong_one(
    words: list[str], parse: Callable[[list[str]], str]
) -> None:
    with pytest.raises(click.UsageError):
        parse(words)


@pytest.mark.parametrize(("path", "command"), EVERY, ids=NAMES)
def test_every_option_says_what_it_is_for(path: tuple[str, ...], command: click.Command) -> None:
    silent = [
        option.name
        for option in command.params
        if isinstance(option, click.Option) and not option.help
    ]
    assert silent == []


def test_the_help_lists_the_exit_codes_that_the_errors_have() -> None:
    from fleetcal import errors

    listed = re.sub(r"\s+", " ", main.help or "")
    kinds = [
        kind
        for kind in vars(errors).values()
        if isinstance(kind, type) and issubclass(kind, errors.FleetcalError)
    ]
    codes = [kind.exit_code for kind in kinds]
    assert len(set(codes)) == len(codes), "two kinds of error end in the same exit code"
    ranges = [(int(a), int(b or a)) for a, b in re.findall(r"\b(\d+)(?:-(\d+))?\b", listed)]
    unlisted = [code for code in codes if not any(a <= code <= b for a, b in ranges)]
    assert unlisted == []


def test_the_advice_to_be_careful_is_in_the_help() -> None:
    assert "advisory" in (main.help or "")
