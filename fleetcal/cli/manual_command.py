"""The command that shows the manual, fitted to the terminal."""

from __future__ import annotations

import shutil

import click

from fleetcal.cli.printer import echo
from fleetcal.cli.verbs import Verb

#: Lines longer than this are hard to read, however broad the terminal is.
MOST_LETTERS = 96


@click.command(cls=Verb)
@click.argument("topic", required=False)
def manual(topic: str | None) -> None:
    """List the topics of the manual, or show one TOPIC.

    \b
    Example:
      fleetcal manual
      fleetcal manual exit-codes
    """
    from fleetcal.cli.manual_text import as_plain_text
    from fleetcal.services import manual as shelf

    width = min(shutil.get_terminal_size().columns, MOST_LETTERS)
    if topic is not None:
        echo(as_plain_text(shelf.topic(topic).text, width))
        return
    found = shelf.topics()
    broad = max(len(one.name) for one in found)
    echo("\n".join(f"{one.name:{broad}}  {one.title}" for one in found))
