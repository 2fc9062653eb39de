"""What is said of a flight that the store has already, from another file: options, or an answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import click

from fleetcal.cli.failure import message_line
from fleetcal.cli.new_airframe import on_terminal
from fleetcal.cli.printer import echo

Result = TypeVar("Result")

another_flight_option = click.option(
    "--another-flight",
    is_flag=True,
    help="Keep it though it looks like a flight that is stored from another file.",
)
in_its_place_option = click.option(
    "--replace",
    "replacing",
    is_flag=True,
    help="Let it take the place of the same flight stored from another file.",
)


def repeat_choice(*, another: bool, replacing: bool) -> str:
    """Return what the options say, as a service takes it.

    Raises:
        click.UsageError: If they contradict each other.
    """
    from fleetcal.services.repeated_flight import ANOTHER, INSTEAD, NOTHING

    if another and replacing:
        raise click.UsageError("'--another-flight' and '--replace' contradict each other")
    return ANOTHER if another else INSTEAD if replacing else NOTHING


def kept_by_choice(keep: Callable[[str], Result], choice: str) -> Result:
    """Keep a flight; on a terminal ask whether one that is stored already is another one.

    Args:
        keep: Takes what is said of the flight.
        choice: By the options.

    Raises:
        RepeatedFlightError: If it is the same and nothing else was said.
    """
    from fleetcal.services.repeated_flight import ANOTHER, RepeatedFlightError

    try:
        return keep(choice)
    except RepeatedFlightError as error:
        if choice or not on_terminal():
            raise
        echo(message_line(error.message), err=True)
        if not click.confirm("Is it another flight, to be kept too?", err=True):
            raise
    return keep(ANOTHER)
