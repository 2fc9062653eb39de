"""How far long work is, in one line of a terminal that is written over."""

from __future__ import annotations

import sys

import click

from fleetcal.cli.terminal import is_terminal

_WIDEST = 79


def on_terminal() -> bool:
    """Return whether somebody watches standard error."""
    return is_terminal(sys.stderr)


def show_progress(words: str) -> None:
    """Show words in place of those before."""
    clear_progress()
    click.echo(words[:_WIDEST], err=True, nl=False)


def clear_progress() -> None:
    """Wipe the line; nothing where nobody watches."""
    if on_terminal():
        click.echo("\r\x1b[K", err=True, nl=False)
