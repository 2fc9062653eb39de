"""Options that are taken anywhere on the line, before the command or after it."""

from __future__ import annotations

from typing import Any, Final

import click
from click.core import ParameterSource

_KEPT: Final = "fleetcal."
_NAMED: Final = f"{_KEPT}named"


def _keep(context: click.Context, option: click.Parameter, value: object) -> None:
    """Keep what was given, on whichever side of the command it stood; the last one holds."""
    if value is None or value is False or option.name is None:
        return
    context.meta[_KEPT + option.name] = value
    if context.get_parameter_source(option.name) is ParameterSource.COMMANDLINE:
        context.meta.setdefault(_NAMED, set()).add(option.name)


def _option(*words: str, **details: Any) -> click.Option:
    return click.Option(words, expose_value=False, callback=_keep, **details)


#: By name; every group takes all of them, a command those that it has a use for.
OPTIONS: Final = {
    "store": _option(
        "--store",
        metavar="PATH|URL",
        help="Store file, or address of a PostgreSQL database. Without it the environment "
        "variable FLEETCAL_STORE, your preferences, or a file in your data folder.",
    ),
    "format": _option(
        "--format",
        type=click.Choice(["table", "csv", "json"]),
        help="How to print the result; a table if left out.",
    ),
    "details": _option(
        "--details",
        is_flag=True,
        help="Show in a table too the model, what is assumed, and every column.",
    ),
    "speed_unit": _option(
        "--speed-unit",
        type=click.Choice(["kt", "mph", "km/h"]),
        help="Unit of speed; kt if left out.",
    ),
    "weight_unit": _option(
        "--weight-unit", type=click.Choice(["kg", "lb"]), help="Unit of weight; kg if left out."
    ),
    "height_unit": _option(
        "--height-unit", type=click.Choice(["ft", "m"]), help="Unit of height; ft if left out."
    ),
}
#: Taken by whatever prints a result.
UNITS: Final = ("speed_unit", "weight_unit", "height_unit")


def chosen(name: str, context: click.Context | None = None) -> str | None:
    """Return the value given for a shared option anywhere on the line, None if none was."""
    return (context or click.get_current_context()).meta.get(_KEPT + name)


def named(name: str) -> bool:
    """Return whether a shared option was written on the line, not left to the environment."""
    return name in click.get_current_context().meta.get(_NAMED, ())
