"""The manual is short, can be read in a terminal, and names only what there is."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from fleetcal.cli import main
from fleetcal.cli.manual_text import as_plain_text
from tests.cli.command_line import Program, assert_explained
from tests.cli.documents import DOCUMENTS, PAPERS, ROOT, TOPICS, blocks, console_lines
from tests.store_places import store_at

MOST_WORDS = {"README": 1200, "DEVELOPERS": 2000}
# Lists that are looked things up in, not read.
LISTS = {"changes", "commands-old-and-new", "words"}
SHOWN = re.compile(r"^fleetcal |^fleetcal$")


@pytest.mark.parametrize("name", sorted(DOCUMENTS.keys() - LISTS))
def test_a_text_is_short(name: str) -> None:
    assert len(DOCUMENTS[name].split()) <= MOST_WORDS.get(name, 500)


@pytest.mark.parametrize("name", TOPICS)
def test_a_topic_begins_with_its_title_and_fits_a_terminal_of_80_letters(name: str) -> None:
    assert re.match(r"# [A-Z]", TOPICS[name])
    prose = re.sub(r"```.*?```", "", TOPICS[name], flags=re.DOTALL)
    assert [line for line in as_plain_text(prose, 80).splitlines() if len(line) > 80] == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_link_leads_to_a_file(name: str) -> None:
    folder = ROOT if name in PAPERS else ROOT / "fleetcal" / "manual"
    places = re.findall(r"\]\(([^)#:]+)\)", DOCUMENTS[name])
    assert [place for place in places if not (folder / place).exists()] == []


def test_a_file_that_developers_are_led_to_is_there() -> None:
    named = re.findall(r"`([\w./-]+(?:\.\w+|/))`", PAPERS["DEVELOPERS"])
    folder, missing = ROOT, []
    for name in named:
        places = [ROOT / name, ROOT / "fleetcal" / name, folder / name]
        found = next((place for place in places if place.exists()), None)
        if found is None:
            missing.append(name)
        else:
            folder = found.parent  # a bare name behind it is in the same folder
    assert len(named) > 60
    assert missing == ["table_x.py", "vX.Y.Z"]


def test_the_front_page_leads_to_every_topic() -> None:
    assert [
        name for name in TOPICS if f"[{name}](fleetcal/manual/{name}.md)" not in PAPERS["README"]
    ] == []


def test_the_fleet_and_the_cruise_table_of_the_manual_are_loaded(folder: Path) -> None:
    fleet = blocks(TOPICS["fleet"], "toml") + blocks(TOPICS["handbook"], "toml")
    (folder / "fleet.toml").write_text("\n".join(fleet), encoding="utf-8")
    program = Program(store_at(folder / "store.sqlite3"))
    assert "7 added" in program.output("fleet", "load", folder / "fleet.toml")
    (fit,) = program.json("show", "fleet")["fits"]
    assert (fit["airframe"], fit["static_source"]) == ("C-07", "wing boom")


def leaves(command: click.Command = main) -> list[click.Command]:
    """Return every command that does something."""
    if not isinstance(command, click.Group):
        return [command]
    return [leaf for inner in command.commands.values() for leaf in leaves(inner)]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_command_line_shown_is_understood(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for leaf in leaves():
        monkeypatch.setattr(leaf, "callback", lambda **_: None)
    for line in filter(SHOWN.match, console_lines(DOCUMENTS[name])):
        words = shlex.split(line)[1:]
        end = words.index(">") if ">" in words else len(words)
        main.main(words[:end], prog_name="fleetcal", standalone_mode=False)


def test_the_list_names_every_topic_and_each_can_be_read() -> None:
    listed = CliRunner().invoke(main, ["manual"]).stdout
    for name in TOPICS:
        assert re.search(f"^{name}  ", listed, re.MULTILINE)
        shown = CliRunner().invoke(main, ["manual", name])
        assert shown.exit_code == 0
        assert shown.stdout.startswith(TOPICS[name].splitlines()[0].lstrip("# "))


def test_a_topic_that_is_not_there_is_explained(program: Program) -> None:
    result = program.run("manual", "flihts")
    assert_explained(result, 35, "'flihts'")
    assert "flights" in result.stderr


def test_markdown_becomes_text_with_aligned_tables_and_code_as_it_is() -> None:
    markdown = """# Title

A **bold** word and `code`, and more of it to fill
the line; see [other](other.md) or [the rest](rest.md).

- one item that is longer than the line is
- two

| a | b |
| --- | --- |
| `x` | first |
| yy | the second one is long |

```console
run it -x  with as many words as it takes

next
```
"""
    assert (
        as_plain_text(markdown, 30)
        == """\
Title
=====

A bold word and 'code', and
more of it to fill the line;
see 'other' or the rest (see
'rest').

- one item that is longer than
  the line is
- two

a   b
x   first
yy  the second one is long

    run it -x  with as many words as it takes

    next"""
    )
