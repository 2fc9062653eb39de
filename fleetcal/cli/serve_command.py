"""The command that opens the page to work in."""

from __future__ import annotations

import click

from fleetcal.cli.options import chosen_place
from fleetcal.cli.output import say
from fleetcal.cli.printer import echo
from fleetcal.cli.verbs import Verb


@click.command(cls=Verb)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    show_default="any that is free",
    help="Port of this machine to listen on.",
)
@click.option("--no-browser", is_flag=True, help="Only print the link; open nothing.")
def serve(port: int, no_browser: bool) -> None:
    """Open a page in the browser to work in: flights, fleet, tables, cards.

    Drop a log, look at its legs and move them, keep the flight; look through the
    fleet; print cards and publish tables. The page is served by this program to
    this machine's own user alone, through a link that works once. Nothing
    leaves the machine. Other commands may run meanwhile.

    The page ends with Ctrl-C here, or with its own 'End' button.

    \b
    Example:
      fleetcal serve
      fleetcal --store club.store serve --no-browser
    """
    from fleetcal.services.chosen_store import open_store
    from fleetcal.web.serving import serve as serve_pages

    def tell(link: str) -> None:
        say(f"The pages of {store.label} are open to this link, which works once:", err=True)
        echo(link)
        say("Ctrl-C ends them.", err=True)

    with open_store(chosen_place()) as store:
        serve_pages(store, port, open_browser=not no_browser, say=tell)
