"""The command that shows and sets preferences."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

import click

from fleetcal.cli.completion import tags
from fleetcal.cli.preferred import preferences_file
from fleetcal.cli.printer import echo
from fleetcal.cli.shared_options import UNITS, chosen, named
from fleetcal.cli.verbs import Verb
from fleetcal.plain_text import printable

_WORDS: Final = {
    "airframe": "airframe",
    "store": "store",
    "speed_unit": "unit of speed",
    "weight_unit": "unit of weight",
    "height_unit": "unit of height",
}
_USUAL: Final = {
    "airframe": "none",
    "store": "a file in your data folder",
    "speed_unit": "kt",
    "weight_unit": "kg",
    "height_unit": "ft",
}


@click.command("preferences", cls=Verb, shared=UNITS)
@click.option(
    "--airframe",
    metavar="TAG",
    shell_complete=tags,
    help="The airframe that is meant where none is named.",
)
@click.option(
    "--forget",
    type=click.Choice([name.replace("_", "-") for name in _WORDS]),
    multiple=True,
    help="Go back to the usual; may be repeated.",
)
def preferences_command(airframe: str | None, forget: tuple[str, ...]) -> None:
    """Show preferences, or set them for good: airframe, store, units.

    Whatever is named in a command holds before the environment (FLEETCAL_STORE,
    FLEETCAL_AIRFRAME, FLEETCAL_SPEED_UNIT ...), and that before the preferences.
    With an airframe preferred, 'fleetcal reduce flight.csv' keeps the flight for
    it; --preview keeps nothing. JSON and CSV stay in kt, kg and ft.

    \b
    Example:
      fleetcal preferences
      fleetcal preferences --airframe C-07 --speed-unit mph --weight-unit lb
      fleetcal preferences --store flights.store
      fleetcal preferences --forget airframe
    """
    from fleetcal.services.preferences import read_preferences, set_preferences

    path = preferences_file()
    changes = {name.replace("-", "_"): "" for name in forget}
    changes |= {name: chosen(name) or "" for name in UNITS if named(name)}
    if named("store"):
        changes["store"] = _lasting(chosen("store") or "")
    if airframe is not None:
        changes["airframe"] = airframe
    now = set_preferences(path, changes) if changes else read_preferences(path)
    echo(f"Preferences in {path}:")
    for name, words in _WORDS.items():
        value = getattr(now, name) or f"not set ({_USUAL[name]})"
        variable = f"FLEETCAL_{name.upper()}"
        instead = os.environ.get(variable)
        over = f"; {variable} holds before it: {instead}" if instead else ""
        echo(f"  {words:14}  {printable(f'{value}{over}')}")


def _lasting(place: str) -> str:
    """Return the place of a store so that it is the same from every folder."""
    return place if not place or "://" in place else str(Path(place).expanduser().absolute())
