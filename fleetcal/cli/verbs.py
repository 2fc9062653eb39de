"""Commands and groups of commands as this program has them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

import click

from fleetcal.cli.amounts import help_of, named_without_unit, with_plain_numbers
from fleetcal.cli.ending import explained_ending
from fleetcal.cli.failure import Failure
from fleetcal.cli.full_output import explained_output
from fleetcal.cli.renamed import new_command, new_option
from fleetcal.cli.shared_options import OPTIONS, UNITS, named
from fleetcal.errors import FleetcalError


class Verb(click.Command):
    """A command that takes shared options on its side of the line too.

    Args:
        shared: Names of those that it takes besides ``store``; with ``format`` it takes ``details``
            and units too.
        sections: Headings of its help, each with the names of the options below it; the others
            stand under "Options".
    """

    def __init__(
        self,
        *args: Any,
        shared: Sequence[str] = (),
        sections: Mapping[str, Sequence[str]] = MappingProxyType({}),
        **attributes: Any,
    ) -> None:
        super().__init__(*args, **attributes)
        more = ("details", *UNITS) if "format" in shared else ()
        self.shared = tuple(dict.fromkeys(("store", *shared, *more)))
        self.sections = sections

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Return its own parameters and the shared ones that it takes."""
        return [*super().get_params(ctx), *(OPTIONS[name] for name in self.shared)]

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write its own options, then those that may stand anywhere on the line."""
        anywhere = [OPTIONS[name] for name in self.shared]
        own = {p.name: p for p in self.get_params(ctx) if p not in anywhere}
        placed = {
            title: [own.pop(name) for name in names] for title, names in self.sections.items()
        }
        for title, options in {"Options": [*own.values()], **placed}.items():
            _section(ctx, formatter, title, options)
        _section(ctx, formatter, "Anywhere on the line", anywhere)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse; an option that is gone is answered with what it is called now."""
        args = with_plain_numbers(args, self.get_params(ctx), ctx)
        try:
            return super().parse_args(ctx, args)
        except click.NoSuchOption as error:
            now = new_option(ctx.command_path.split()[1:], error.option_name)
            if now is None:
                raise
            raise click.UsageError(f"'{error.option_name}' is now: {now}", ctx) from error

    def invoke(self, ctx: click.Context) -> object:
        """Run it, unless a shared option was given that it has no use for."""
        for name in OPTIONS:
            if name not in self.shared and named(name):
                option = OPTIONS[name].opts[0]
                raise click.UsageError(f"'{option}' is not for '{ctx.command_path}'.", ctx)
        return super().invoke(ctx)


def _section(
    ctx: click.Context,
    formatter: click.HelpFormatter,
    title: str,
    options: Sequence[click.Parameter],
) -> None:
    known = named_without_unit(ctx.command.get_params(ctx))
    records = [
        (record[0], f"{record[1]}{help_of(p, known)}")
        for p in options
        if isinstance(p, click.Option) and (record := p.get_help_record(ctx)) is not None
    ]
    if records:
        with formatter.section(title):
            formatter.write_dl(records)


class VerbGroup(click.Group):
    """A group of commands: takes every shared option, explains every FleetcalError."""

    command_class = Verb
    tasks: Mapping[str, Sequence[str]] = MappingProxyType({})

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Return its own parameters and the shared ones."""
        return [*super().get_params(ctx), *OPTIONS.values()]

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; one that is gone is answered with what it is called now."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            found = new_command(ctx.command_path.split()[1:], args)
            if found is None:
                raise
            raise click.UsageError(f"'{found[0]}' is now: {found[1]}", ctx) from error

    def add_by_task(self, tasks: Mapping[str, Sequence[click.Command]]) -> None:
        """Add commands under the headings that its help lists them by."""
        for commands in tasks.values():
            for command in commands:
                self.add_command(command)
        self.tasks = {title: [str(c.name) for c in cs] for title, cs in tasks.items()}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of its commands, main ones first."""
        return list(self.commands)

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write its commands, then its own options; the whole program's also the shared ones."""
        self.format_commands(ctx, formatter)
        shared = list(OPTIONS.values())
        own = [p for p in self.get_params(ctx) if p not in shared]
        _section(ctx, formatter, "Options", own)
        if ctx.parent is None:
            _section(ctx, formatter, "Anywhere on the line", shared)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the commands by task, each with its first sentence, however long."""
        for title, names in (self.tasks or {"Commands": list(self.commands)}).items():
            with formatter.section(title):
                formatter.write_dl([(name, _summary(self.commands[name])) for name in names])

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse; the help that this may print may meet a full disk too, or Ctrl-C."""
        with explained_ending(), explained_output():
            return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command."""
        try:
            with explained_ending(), explained_output():
                return super().invoke(ctx)
        except FleetcalError as error:
            raise Failure(error) from error


def _summary(command: click.Command) -> str:
    """Return the first line of a help, without the full stop."""
    return (command.help or "").split("\n", 1)[0].removesuffix(".")
