"""The option that says which measured quantity is meant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., object])
POSITION_ERROR: Final = "position-error"
#: What is found in a recorded flight, the usual first.
REDUCED: Final = (POSITION_ERROR, "climb", "glide")


def quantity_option(quantities: Sequence[str]) -> Callable[[Command], Command]:
    """Return the option for a choice of quantities, the first of which is the usual one."""
    return click.option(
        "--quantity",
        type=click.Choice(quantities),
        default=quantities[0],
        show_default=True,
        help="Which measured quantity.",
    )
