"""Commands on whose airframes and types are what."""

from __future__ import annotations

import click

from fleetcal.cli.options import open_chosen_store
from fleetcal.cli.output import emit, say
from fleetcal.cli.verbs import VerbGroup


@click.group(cls=VerbGroup)
def owners() -> None:
    """See and say whose word counts for an airframe or a type.

    Shares are signed. What an owner's own share says of his airframe is taken in;
    what anybody else would change of it is a conflict that you settle. A type's
    coordinator speaks for its speeds and handbook tables.

    \b
    Example:
      fleetcal owners list
      fleetcal owners set C-07 --mine
    """


@owners.command("list", shared=("format",))
def list_() -> None:
    """Show owners, coordinators and known keys, and who signs here.

    \b
    Example:
      fleetcal owners list
    """
    from fleetcal.cli.owner_views import OWNERS
    from fleetcal.services.sharing.owners import owners_shown

    with open_chosen_store() as store:
        emit(owners_shown(store), OWNERS)


@owners.command("set")
@click.argument("airframes", metavar="[TAG]...", nargs=-1)
@click.option("--type", "kind", metavar="NAME", help="Name the coordinator of this type.")
@click.option("--mine", is_flag=True, help="Whoever keeps this store.")
@click.option("--nobody", is_flag=True, help="Nobody.")
@click.option("--key", metavar="KEY", help="Whose key this is, in full or as the list shows it.")
@click.option("--decides", is_flag=True, help="The coordinator speaks for its airframes too.")
def set_(
    airframes: tuple[str, ...],
    kind: str | None,
    mine: bool,
    nobody: bool,
    key: str | None,
    decides: bool,
) -> None:
    """Say whose an airframe is, or who coordinates a type; also to hand it over.

    An airframe that you made here is this store's own without saying so. Airframes
    of a store that an older program began are nobody's until you say.

    \b
    Example:
      fleetcal owners set C-07 C-12 --mine
      fleetcal owners set C-03 --key 1a2b-3c4d-5e6f-7a8b-9c0d
      fleetcal owners set --type "Corrie 2" --mine --decides
    """
    if [mine, nobody, key is not None].count(True) != 1:
        raise click.UsageError("Give one of --mine, --nobody and --key.")
    if not airframes and kind is None:
        raise click.UsageError("Name an airframe, or a type with --type.")
    if decides and kind is None:
        raise click.UsageError("--decides goes with --type.")
    from fleetcal.services.sharing.owners import NOBODY, give

    owner = NOBODY if nobody else key
    with open_chosen_store() as store:
        for sentence in give(store, owner, airframes=airframes, kind=kind, decides=decides):
            say(sentence)


@owners.command("name")
@click.argument("name")
def name_(name: str) -> None:
    """Give the key that signs here a person's NAME, which goes along with shares.

    \b
    Example:
      fleetcal owners name "Anna Berg"
    """
    from fleetcal.services.sharing.signing_key import name_signer

    say(f"Shares from here are signed by {name_signer(name).shown}.")
