"""Commands that give a store, or a part of it, to another store."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcal.cli.options import chosen_place, existing_file, file_option, open_chosen_store
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.sharing.merge_share import Side


class Choice(click.ParamType[tuple[str, str]]):
    """A conflict's number and the side chosen for it."""

    name = "NUMBER=mine|theirs"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, str]:
        """Return number and side, or fail with the usage."""
        if isinstance(value, tuple):
            return value
        found = re.fullmatch(r"([0-9a-f]{8})=(mine|theirs)", str(value))
        if found is None:
            self.fail(f"{value!r} is not NUMBER=mine or NUMBER=theirs", param, ctx)
        return found[1], found[2]


@click.command(cls=Verb, shared=("format",))
@file_option("--out", "file", required=True, help="File to write.")
@click.option("--airframe", "airframes", metavar="TAG", multiple=True, help="Only this; repeat.")
@click.option("--type", "types", metavar="NAME", multiple=True, help="Only this type; repeat.")
@click.option("--without-issues", is_flag=True, help="Leave published issues out.")
@click.option("--with-registrations", is_flag=True, help="Include registrations.")
@click.option("--with-logs", is_flag=True, help="Include the logs that are kept.")
def share(
    file: Path,
    airframes: tuple[str, ...],
    types: tuple[str, ...],
    without_issues: bool,
    with_registrations: bool,
    with_logs: bool,
) -> None:
    """Write what the store knows, or a part of it, to one file for another store.

    Registrations are left out, also where a note or a file name holds them, unless
    you ask for them. Issues rest on points of all airframes, so none goes along
    with a choice of airframes. Logs that are kept tell where somebody flew: they
    stay here unless you ask for them, and without registrations also those that
    name one or are packed. The file is text in JSON with a checksum.

    \b
    Example:
      fleetcal share --out club.json
      fleetcal share --out mine.json --airframe C-07 --with-logs
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.share_views import SHARED
    from fleetcal.services.sharing.share_store import ShareChoice
    from fleetcal.services.sharing.share_store import share as share_it

    choice = ShareChoice(
        airframes=airframes or None,
        types=types or None,
        issues=not without_issues,
        registrations=with_registrations,
        logs=with_logs,
    )
    with open_chosen_store() as store:
        emit(share_it(store, file, choice), SHARED)


@click.command(cls=Verb, shared=("format",))
@existing_file("file")
@click.option(
    "--take", type=click.Choice(["mine", "theirs"]), help="Settle all other conflicts like this."
)
@click.option("--choose", type=Choice(), multiple=True, help="Settle one conflict; repeat.")
@click.option("--preview", is_flag=True, help="Only show what would be done.")
def merge(
    file: Path,
    take: Side | None,
    choose: tuple[tuple[str, Side], ...],
    preview: bool,
) -> None:
    """Take a FILE that 'share' wrote into the store, all of it or nothing.

    The same content twice adds nothing. A later decision on a point, a withdrawal
    and a known correction win. Where two stores say different things and neither
    is known to correct the other, that is a conflict: it is listed with a number,
    and nothing is stored until you have chosen a side. What is not chosen is kept
    aside and does not come back with the next file.

    \b
    Example:
      fleetcal merge from-owner.json --preview
      fleetcal merge from-owner.json --choose 1f0c22aa=theirs
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.share_views import MERGED
    from fleetcal.services.chosen_store import open_store
    from fleetcal.services.sharing.merge_share import Choices, refuse_open
    from fleetcal.services.sharing.merge_share import merge as merge_it

    done = merge_it(
        lambda: open_store(chosen_place(), create=not preview),
        file,
        Choices(take, dict(choose)),
        preview=preview,
    )
    emit(done, MERGED)
    if not preview:
        refuse_open(done)
